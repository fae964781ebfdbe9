"""The pooled report: harm first, every label harmless, the silent study in sight."""

import re
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree as ET

import packs_builder as build
import pytest
from reading_svg import words
from sharing.test_handout import FORBIDDEN, Page

from pmulab.analysis.pooling import pool
from pmulab.figures import forest
from pmulab.figures.palette import INK, JOIN
from pmulab.findings.pooled import Registered, SetAside
from pmulab.sharing.pooled import MARK, pooled_html

SCRIPT = "<script>alert(1)</script>"


def group(packs=None, register=True, aside=()):
    packs = packs or build.all_reported()
    entries = [
        Registered(
            p.findings.plan.study.code, p.study, "q", "Working minutes", "min", 2.0, 12,
            "2026-01-26", "2026-07-04", state="finished",
        )
        for p in packs
    ]  # fmt: skip
    late = replace(
        entries[0], code="quillet", study="f" * 64, state="never reported", days_overdue=240
    )
    told = [*entries, late] if register else []
    return pool(packs, told, made="2027-03-01", software="pmulab test", also_aside=aside)


def hostile():
    """A study whose texts try to be markup."""
    pack = build.reported()
    plan = pack.findings.plan
    evil = replace(
        plan,
        study=replace(plan.study, question=f"Is it{SCRIPT}?", code="evil"),
        primary=replace(plan.primary, title=f"Minutes {SCRIPT}", unit='"><b>min'),
        arms=replace(plan.arms, A=replace(plan.arms.A, label=f"A {SCRIPT}\u202e")),
    )
    primary = replace(pack.findings.primary, outcome=evil.primary)
    findings = replace(pack.findings, plan=evil, primary=primary)
    return replace(pack, findings=findings, label=f"studio {SCRIPT}")


CASES = {
    "the invented group": group(),
    "without register": group(register=False),
    "one": group(build.all_reported()[:1]),
    "two": group(build.all_reported()[:2]),
    "three": group(build.all_reported()[:3]),
    "four": group(build.all_reported()[:4]),
    "hostile": group(
        [replace(hostile(), study=f"{n:064x}", rows=(n,)) for n in range(5)],
        aside=[SetAside(f"{SCRIPT}.zip", f"because {SCRIPT}")],
    ),
    "many": group(
        [replace(build.reported(), study=f"{n:064x}", rows=(n,), label=f"s{n}") for n in range(90)]
    ),
}


@cache
def page_of(name):
    return pooled_html(CASES[name])


@cache
def picture_of(name):
    return forest(CASES[name])


@pytest.fixture(params=list(CASES))
def name(request):
    return request.param


def test_the_page_is_well_formed_needs_nothing_and_runs_nothing(name):
    page = page_of(name)
    read = Page(page)
    levels = [level for level, _ in read.headings]

    assert page.startswith(MARK)
    assert levels[0] == "h1"
    assert set(levels[1:]) == {"h2"}
    assert not {tag for tag, _ in read.tags} & {"script", "link", "iframe", "object", "b"}
    for _, attributes in read.tags:
        assert not any(name.startswith("on") for name in attributes)
    for tag, attributes in read.tags:
        if tag == "th":
            assert attributes["scope"] in ("col", "row")


def test_harm_stands_before_effects_and_the_register_before_both_numbers(name):
    titles = [title for _, title in Page(page_of(name)).headings]
    harm = next(n for n, title in enumerate(titles) if title.startswith("Adverse events"))

    assert harm < titles.index("Which studies are in") < titles.index("What was seen")
    assert titles.index("What was seen") < titles.index("What the studies say together")


def test_no_word_claims_too_much(name):
    assert not FORBIDDEN.search(Page(page_of(name)).said)


def test_labels_are_letters_and_nothing_else():
    page = page_of("hostile")

    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert page.count("<b>") == 0


def test_the_silent_study_and_the_file_drawer_are_in_sight():
    said = Page(page_of("the invented group")).said

    assert "5 of 6 registered studies are in; 1 never reported." in said
    assert "never reported, 240 days overdue" in said
    assert "nobody can tell how many studies are silent" in (Page(page_of("without register")).said)


def test_invented_data_are_marked(name):
    assert "Invented data" in Page(page_of(name)).said


def test_long_lists_end_in_a_count():
    said = Page(page_of("many")).said

    assert "And 31 more." in said
    assert "50 further studies weigh less and are not drawn." in " ".join(
        words(picture_of("many").svg)
    )


def test_the_picture_tells_in_words_what_it_shows(name):
    picture = picture_of(name)
    svg = ET.fromstring(picture.svg)

    assert svg.get("role") == "img"
    assert "One row a study" in picture.alt
    told = " ".join(words(picture.svg)).lower()
    assert "registered studies are in" in told or "no group register" in told
    assert "registered studies are in" in picture.alt or "register was given" in picture.alt


def test_studies_average_and_range_are_drawn_with_their_numbers():
    picture = picture_of("the invented group")
    told = words(picture.svg)

    assert "−3.21 (−4.38 to −2.04)" in " ".join(" ".join(told).split())
    assert "together" in told
    assert "next studio" in told
    assert picture.svg.lower().count(f"stroke: {JOIN.lower()}") == 1
    assert INK.lower() in picture.svg.lower()


def test_for_three_studies_no_range_is_drawn():
    told = words(picture_of("three").svg)

    assert "next studio: cannot be told" in told
    assert re.search(r"together", " ".join(told))


def test_for_two_studies_no_average_is_drawn():
    told = words(picture_of("two").svg)

    assert "together" not in told
    assert "No average is drawn." in picture_of("two").alt


def test_one_wild_interval_does_not_squeeze_the_others():
    packs = build.all_reported()
    effect = packs[0].findings.primary
    t = replace(effect.other_forms["t"], interval=replace(
        effect.other_forms["t"].interval, low=-900.0, high=900.0))  # fmt: skip
    wild = replace(
        packs[0],
        findings=replace(
            packs[0].findings, primary=replace(effect, other_forms={**effect.other_forms, "t": t})
        ),
    )
    ticks = [word for word in words(forest(group([wild, *packs[1:]])).svg) if word == "900"]

    assert ticks == []
