"""What is said and drawn of a series: signs with their false alarms, changes without a cause."""

import re
from xml.etree import ElementTree as ET

import pytest
from series import series

from pmulab.figures import line_over_time, share_by_month
from pmulab.practice import watch
from pmulab.sharing.practice_page import practice_html
from pmulab.wording import (
    CAUTIONS,
    INVENTED,
    PRACTICE_CLOSING,
    line_lines,
    practice_fooled,
    practice_head,
    practice_next,
    shares_lines,
)

STEADY = [16, 17.5, 15, 18, 16.5, 15.5, 17, 16, 18.5, 15, 16.5, 17, 16, 15.5, 17.5, 16, 18, 15, 17]
HOSTILE = '<script>alert("x")</script> & </svg> $x_1$ {{ 7*7 }} 漢字かな جفن ' + "w" * 60
SERIES = {
    "steady": series(STEADY),
    "shifted": series([*STEADY[:12], *[24, 25] * 6], changes={13: "new machine speed"}),
    "few": series([16, 17, 15], changes={2: "new lamp"}),
    "alone": series([16]),
    "nothing": series([None, None]),
    "hostile": series(STEADY, changes=dict.fromkeys(range(5, 14), HOSTILE), harmed=(4,)),
    "months": series(STEADY * 6, needed=["yes", "no", "no"] * 38, changes={60: "a"}),
}
WATCHED = {name: watch(rows) for name, rows in SERIES.items()}
FORBIDDEN = re.compile(
    r"\b(proves?|proven|guaranteed|safe|significan\w+|caused by|thanks to|best|patients?)\b",
    re.IGNORECASE,
)


@pytest.fixture(params=list(WATCHED))
def watched(request):
    return WATCHED[request.param]


def said(found):
    return [
        *practice_head(found),
        *(one for line in found.lines for one in line_lines(line)),
        *(one for shares in found.shares for one in shares_lines(shares)),
        *practice_fooled(found),
        *practice_next(found),
    ]


def test_a_change_is_told_with_what_else_may_have_made_it(watched):
    """G10: a before-after difference never stands without its confounding."""
    for line in said(watched):
        if "after the change the values were" in line:
            assert "Other things also changed or may have" in line
            assert "this alone does not show that the change did it" in line
            assert "How sure: " in line


def test_every_sign_says_how_often_luck_makes_one():
    told = said(WATCHED["shifted"])
    signs = [line for line in told if "a sign of a" in line or "a sign that" in line]

    assert signs
    assert all("By luck alone" in line and "of 100" in line for line in signs)
    assert any("charts are looked at" in line for line in told)


def test_a_sign_in_the_answers_is_told_and_ringed():
    """Which side, where it shows and began, how slowly a share comes into sight."""
    needed = ["no", "no", "yes", "no", "no"] * 4 + ["yes"] * 12
    found = watch(series([16, 17] * 16, needed=needed, changes={21: "new lamp"}))
    line = next(one for one in shares_lines(found.shares[0]) if "client by client" in one)
    words = "".join(ET.fromstring(share_by_month(found.shares[0]).svg).itertext())

    assert "a sign that yes is more common than in the first 20 clients." in line
    assert "began about client 21." in line
    assert "yes would show after about" in line
    assert "By luck alone" in line
    assert "Running sum (CUSUM) after the first 20 (a sign at client" in words


def test_harm_stands_first():
    told = said(WATCHED["hostile"])

    assert told[0] == INVENTED
    assert told[2].startswith("1 of 19 clients had an adverse event. Eyelid work lies beside")
    assert (
        "No adverse event was seen in 19 clients; a true rate up to 15 %"
        in said(WATCHED["steady"])[2]
    )


def test_too_few_is_said_plainly():
    told = said(WATCHED["few"])

    assert "Limits: none. They need 12 clients before the first change; there are 1." in told
    assert "Running sum (CUSUM): none without limits." in told
    assert any("too few for the rules" in line for line in told)
    assert any("Too few to compare: 1 before and 2 after" in line for line in told)


def test_nothing_promises_too_much_or_is_left_open(watched):
    told = " ".join(said(watched))

    assert not FORBIDDEN.search(told)
    assert not re.search(r"\b(nan|None|inf)\b", told)
    assert "  " not in told


def test_every_picture_is_told(watched):
    pictures = [line_over_time(one) for one in watched.lines]
    pictures += [share_by_month(one) for one in watched.shares]
    for picture in pictures:
        root = ET.fromstring(picture.svg)
        assert root.get("role") == "img"
        assert picture.alt in "".join(root.itertext())
        assert "<script" not in picture.svg


def test_a_sign_is_ringed_in_the_picture():
    """Changes are marked by letters that the picture explains."""
    words = "".join(ET.fromstring(line_over_time(WATCHED["shifted"].lines[0]).svg).itertext())

    assert "a sign of a shift" in words
    assert "outside" in words
    assert "a: from client 13 on, 2026-03-06: new machine speed" in words


def test_the_page_needs_nothing_from_outside(watched):
    page = practice_html(watched, ["a line about the table"])

    assert "<script" not in page
    assert not re.search(r'(href|src)="(?!#)|url\((?!#)|@import', page)
    assert page.index("Who is on the charts") < page.index("Working minutes")
    assert page.rstrip().endswith("</html>")
    assert PRACTICE_CLOSING.replace("'", "&#39;") in page
    assert all(caution.replace("'", "&#39;") in page for caution in CAUTIONS)
    assert "a line about the table" in page
