import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import findings_builder as build
import pytest
from reading_svg import words

import pmulab.sharing
from pmulab.figures import palette
from pmulab.figures.palette import PAPER
from pmulab.plan import Change
from pmulab.sharing import handout_html
from pmulab.sharing.parts import numbered, steps_of
from pmulab.wording import CAUTIONS, CLOSING, INVENTED

STUDIES = {
    study.__name__: study()
    for study in (
        build.demo,
        build.trade,
        build.crowded,
        build.hostile,
        build.parallel,
        build.empty,
    )
}
PAGES = {name: handout_html(findings, "A demo studio") for name, findings in STUDIES.items()}

# Words that promise more than a small comparison can show (our own list).
FORBIDDEN = re.compile(
    r"\b(proves?|proven|scientifically|guaranteed|safe|no side effects|significan\w+|"
    r"trend towards|no effect|highly effective|superior|clinically tested|best|breakthrough|"
    r"risk-free|patients?)\b",
    re.IGNORECASE,
)
VOID = {"meta", "br", "img", "link", "input", "hr"}


class Page(HTMLParser):
    """Reads a page as a browser would list it, refusing tags that are not closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open, self.tags, self.text, self.headings = [], [], [], []
        self.feed(text)
        self.close()
        assert not self.open

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" in self.open:
            return
        if self.open and self.open[-1] in ("h1", "h2", "h3"):
            self.headings.append((self.open[-1], data.strip()))
        self.text.append(data)

    @property
    def said(self) -> str:
        return " ".join(" ".join(self.text).split())


@pytest.fixture(params=list(PAGES))
def page(request):
    return PAGES[request.param]


def test_page_is_well_formed_and_named(page):
    """Language, title, one main heading, second-level headings below it."""
    read = Page(page)
    tags = [tag for tag, _ in read.tags]
    levels = [level for level, _ in read.headings]

    assert page.startswith("<!DOCTYPE html>")
    assert dict(read.tags)["html"]["lang"] == "en-GB"
    assert tags.count("title") >= 1
    assert levels[0] == "h1"
    assert set(levels[1:]) == {"h2"}


def test_page_needs_nothing_from_outside(page):
    """No script, no address that would be loaded, no event handler."""
    read = Page(page)

    assert not {tag for tag, _ in read.tags} & {"script", "link", "iframe", "object", "base"}
    for _, attributes in read.tags:
        for name, value in attributes.items():
            assert not name.startswith("on")
            if name in ("src", "href", "xlink:href", "action"):
                assert value.startswith("#")
            assert not re.search(r"url\((?!#)", value or "")
    assert not re.search(r"@import|url\(", page.split("</style>")[0])


def test_every_picture_has_words(page):
    """Each SVG names a title and a description that exist on the page."""
    read = Page(page)
    ids = [attributes["id"] for _, attributes in read.tags if "id" in attributes]
    pictures = [attributes for tag, attributes in read.tags if tag == "svg"]

    assert pictures
    assert len(ids) == len(set(ids))
    for picture in pictures:
        assert picture["role"] == "img"
        assert set(picture["aria-labelledby"].split()) <= set(ids)


def test_table_headings_say_what_they_head(page):
    """Every heading cell has a scope."""
    heads = [attributes for tag, attributes in Page(page).tags if tag == "th"]

    assert heads
    assert all(head.get("scope") in ("row", "col") for head in heads)


def test_adverse_events_come_before_effects(page):
    """The order of the page is fixed; cautions and reporting items come after the findings."""
    found = [re.sub(r"[:(].*", "", text).strip() for level, text in Page(page).headings[1:]]
    order = [
        "Read this first",
        "How it was done",
        "Adverse events",
        "From asking to analysing",
        "What was seen",
        "Finding",
        "Details",
        "Exploratory",
        "What could fool us",
        "What next",
        "Cautions",
        "What a full report would tell",
    ]

    assert found == [name for name in order if name in found]
    assert {"Adverse events", "Finding", "Cautions"} <= set(found)
    assert Page(page).said.endswith(CLOSING)


def test_no_word_promises_too_much(page):
    """Nothing is proven or safe."""
    assert not FORBIDDEN.search(Page(page).said)


def test_every_caution_stands_on_the_page(page):
    said = Page(page).said

    assert all(caution in said for caution in CAUTIONS)


def test_at_most_one_p_value(page):
    """For the main measure only, and after its interval."""
    said = Page(page).said

    assert said.count("p = ") <= 1
    assert "p = " not in said.split("Finding")[0]


def test_same_findings_give_the_same_bytes():
    """Nothing on the page depends on when or where it was made."""
    assert handout_html(build.demo(), "A demo studio") == PAGES["demo"]


def test_demonstration_says_that_it_is_invented():
    """On the very first line of the page."""
    assert (
        Page(PAGES["demo"]).said.split("Damp or dry wipe: handout")[1].strip().startswith(INVENTED)
    )
    real = replace(build.demo(), plan=build.demo_plan(invented=False))
    assert INVENTED not in handout_html(real)


def test_demonstration_shows_its_numbers():
    """Difference with interval first, then counts, adjusted estimate and p, in this order."""
    said = Page(PAGES["demo"]).said
    finding = said.index("Working time: 3.2 min lower with damp nonwoven wipe")
    places = [
        said.index(text, finding)
        for text in (
            "95 % interval: 2.04 to 4.38 min lower",
            "How sure: somewhat sure",
            "In standard deviations: -1.62",
            "Clients who did better with damp nonwoven wipe: 11; with dry nonwoven wipe: 0",
            "Freed of working order and side: 3.2 min lower",
            "p = 0.031",
        )
    ]

    assert places == sorted(places)
    assert "a true rate up to 22 % would still fit that" in said[:finding]


def test_what_the_numbers_were_made_from_stands_at_the_foot():
    """With the journal's last line, so that a shortened journal can be told by the paper."""
    assert (
        "pmulab 0.1.0 · analysed 2026-09-14 · plan locked 2026-02-03 · fingerprints (SHA-256): "
        f"plan {'3f' * 8}, records {'a7' * 8}, allocation {'0c' * 8}, "
        f"journal up to line 31 {'5e' * 8}"
    ) in Page(PAGES["demo"]).said
    old = replace(build.demo(), provenance=replace(build.PROVENANCE, locked="", journal=""))
    said = Page(handout_html(old)).said
    assert "plan not locked" in said
    assert f"allocation {'0c' * 8}, journal none" in said


def test_other_outcomes_are_named_exploratory():
    """In the heading, in the picture and in each line."""
    said = Page(PAGES["demo"]).said

    assert "Exploratory: other outcomes" in said
    for title in ("Swelling at the end", "Pain while working", "Segments kept"):
        assert f"{title} (exploratory):" in said


def test_without_a_locked_plan_the_finding_is_exploratory():
    """And the page says so first."""
    said = Page(PAGES["empty"]).said

    assert "Finding (exploratory: no locked plan)" in said
    assert said.index("Read this first") < said.index("How it was done")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"changes": (Change("primary.worthwhile", "2", "1"),)}, "edited after locking"),
        ({"looks": ("On 2026-04-01 the arms were looked at, unplanned.",)}, "unplanned"),
        ({"tampering": ("records.xlsx was changed outside the kit.",)}, "outside the kit"),
        ({"stopped": "Two eye irritations."}, "stopped early: Two eye irritations."),
        ({"locked": ""}, "never locked"),
    ],
)
def test_departures_stand_in_a_box_near_the_top(change, told):
    """Before anything that was done or found, and only there."""
    findings = build.demo()
    said = Page(
        handout_html(replace(findings, provenance=replace(build.PROVENANCE, **change)))
    ).said
    box = said[said.index("Read this first") : said.index("How it was done")]

    assert told in box
    assert told not in said[said.index("What could fool us") : said.index("What next")]


def test_an_orderly_study_has_no_box():
    """Nothing to read first when nothing departed from the plan."""
    assert "Read this first" not in PAGES["demo"]


def test_adverse_events_name_severity_and_arm():
    """A serious event under A is a row of the table, after the word to pause or that it stopped."""
    crowded = STUDIES["crowded"]
    going_on = replace(crowded, provenance=replace(crowded.provenance, stopped=""))
    assert "PAUSE NOW: Two moderate events of one kind" in Page(handout_html(going_on)).said
    said = Page(PAGES["crowded"]).said
    safety = said[said.index("Adverse events") : said.index("From asking to analysing")]

    assert "PAUSE NOW" not in said
    assert "This study was stopped; nobody else is worked on in it." in safety
    assert "What the records say: Two moderate events of one kind under A." in safety
    assert "11 of 22 clients had an adverse event:" in safety
    assert "Corneal injury severe, serious A 1" in safety
    assert "Infection moderate person 1" in safety


def test_many_departures_are_counted_not_dropped():
    """Eight edits: three are shown, five counted; the reason for stopping is never pushed out."""
    said = Page(PAGES["crowded"]).said
    box = said[said.index("Read this first") : said.index("How it was done")]

    assert "stopped early" in box
    assert box.count("edited after locking") == 3
    assert "and 5 more" in box


def test_cautions_of_the_question_are_never_cut():
    """What a client could be hurt by is shown whole."""
    said = Page(PAGES["trade"]).said

    assert all(caution in said for caution in STUDIES["trade"].plan.promises.cautions)


def test_text_cannot_break_out_of_the_page():
    """Markup in any text of plan, records or reasons is shown as letters."""
    read = Page(PAGES["hostile"])

    assert "<script" not in PAGES["hostile"]
    assert '<script>alert("x")</script>' in read.said
    assert "{{ 7*7 }}" in read.said
    assert handout_html(build.demo(), '<img src=x onerror="x">').count("<img") == 0


def test_no_client_code_and_no_row_of_a_client():
    """Clients have no number on the page."""
    said = Page(PAGES["demo"]).said

    assert not re.search(r"\bC\d{2,3}\b", said)
    assert "client 1 " not in said.lower()


def test_style_sheet_uses_the_palette_only():
    """Letters, lines and shades of the page are those of the pictures."""
    sheet = Path(pmulab.sharing.__file__).parent / "pages" / "handout.css"
    colours = set(re.findall(r"#[0-9A-Fa-f]{6}", sheet.read_text(encoding="utf-8")))

    assert colours <= {*palette.MARKS, PAPER}


def test_numbers_are_drawn_as_text():
    """The pictures of the page can be searched."""
    svgs = re.findall(r"<svg.*?</svg>", PAGES["demo"], flags=re.DOTALL)

    assert len(svgs) == 3
    assert "With A 3.2 min lower" in words(svgs[1])
    assert "With A about the same" in words(svgs[2])


@pytest.mark.parametrize("study", ["demo", "crowded"])
@pytest.mark.parametrize("kinds", [2, 3, 4, 5, 6, 9])
def test_picture_and_item_count_the_same_further_reasons(study, kinds):
    """As many as there are, less those told one by one: counted here from the page itself."""
    found = STUDIES[study]
    reasons = tuple(f"kind {letter}: 1" for letter in "abcdefghi"[:kinds])
    counts = replace(found.flow, lost_reasons=reasons, not_eligible_reasons=())
    found = replace(found, flow=counts)
    page = handout_html(found)
    drawn = [line for line in words(re.findall(r"<svg.*?</svg>", page, flags=re.DOTALL)[0])
             if line.startswith(("· kind", "· and"))]  # fmt: skip
    item = Page(page).said.split("Losses and their reasons")[1].split("When it ran")[0]
    told = sum("kind" in line for line in drawn)
    further = [f"and {kinds - told} more"] if kinds > told else []

    assert [line for line in drawn if "more" in line] == [f"· {words}" for words in further]
    assert all(words in item or "…" in item for words in further)
    assert item.count("kind") == told or "…" in item


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("1. Wet it.\n2. Wipe.", [("1.", "Wet it."), ("2.", "Wipe.")]),
        ("1) Wet it\nand wring it.\n2) Wipe.", [("1)", "Wet it and wring it."), ("2)", "Wipe.")]),
        ("1. Wet it.\nAll else as usual.", [("1.", "Wet it."), ("", "All else as usual.")]),
        ("One wipe a section.\nNo rubbing.", [("", "One wipe a section."), ("", "No rubbing.")]),
        ("10. Photograph, 2. from the side.", [("10.", "Photograph, 2. from the side.")]),
        ("2.5 mm of line at a time.", [("", "2.5 mm of line at a time.")]),
        ("", []),
    ],
)
def test_numbered_steps_stand_whole_beside_their_numbers(typed, shown):
    plan = build.demo_plan()
    arms = replace(plan.arms, A=replace(plan.arms.A, steps=typed))

    assert numbered(steps_of(replace(plan, arms=arms), "A", 1200)) == shown


def test_a_number_that_is_cut_off_from_its_step_is_no_number():
    """Steps too long for the page end in an ellipsis at a step."""
    plan = build.demo_plan()
    steps = "\n".join(f"{number}. {'Wipe lightly. ' * 20}" for number in range(1, 20))
    arms = replace(plan.arms, A=replace(plan.arms.A, steps=steps))
    told = numbered(steps_of(replace(plan, arms=arms), "A", 1200))

    assert told[-1][1].endswith("…")
    assert sum(len(step) for _, step in told) <= 1200
