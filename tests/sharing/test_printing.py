"""Prints and shows the handout and the slides in a real browser."""

from dataclasses import replace
from functools import cache
from importlib.resources import files

import findings_builder as build
import pytest

from pmulab.figures import pairs, running, what_n_could_show
from pmulab.findings.held_back import shareable
from pmulab.practice import watch
from pmulab.sharing import handout_html
from pmulab.sharing.practice_page import practice_html
from pmulab.sharing.slides import deck, deck_html
from pmulab.tables import read_practice

pytestmark = pytest.mark.browser


def harmed():
    """The demonstration after harm, with intervals that take two lines."""
    found = build.demo()
    effects = [
        replace(one, verdict=replace(one.verdict, harm_first=True),
                outcome=replace(one.outcome, unit="grades of swelling"))
        for one in found.effects
    ]  # fmt: skip
    open_interval = replace(effects[0].difference.interval, high=0.9)
    first = replace(effects[0], difference=replace(effects[0].difference, interval=open_interval))
    return replace(
        found, primary=first, secondary=tuple(effects[1:]),
        safety=replace(found.safety, stop="a serious adverse event was recorded."),
    )  # fmt: skip


def held_back():
    """The demonstration with a yes/no outcome, in which two clients did not agree to share."""
    found = build.demo()
    primary, *others = (
        replace(one, clients=tuple(replace(c, shared=c.client not in (3, 4)) for c in one.clients))
        for one in (*found.effects, build.yes_no_effect())
    )
    plan = replace(found.plan, secondary=(*found.plan.secondary, build.TOUCH_UP))
    return replace(found, plan=plan, primary=primary, secondary=tuple(others))


STUDIES = (
    build.demo,
    build.trade,
    build.crowded,
    build.hostile,
    build.parallel,
    build.empty,
    harmed,
    held_back,
)
OVERFULL_STUDIES = (build.crowded, build.hostile)
"""What no two pages hold in letters that can be read."""

# Texts that leave the sheet, or lie on one another, by more than a point.
MISPLACED = """() => [...document.querySelectorAll('svg')].flatMap(svg => {
  const sheet = svg.getBoundingClientRect(), found = [];
  const boxes = [...svg.querySelectorAll('text')].map(text =>
    [text.textContent, text.getBoundingClientRect()]);
  for (const [text, box] of boxes)
    if (box.left < sheet.left - 1 || box.right > sheet.right + 1 ||
        box.top < sheet.top - 1 || box.bottom > sheet.bottom + 1) found.push('out: ' + text);
  boxes.forEach(([one, a], row) => boxes.slice(row + 1).forEach(([other, b]) => {
    const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    if (wide > 1.4 && high > 3.5) found.push(one + ' | ' + other);
  }));
  return found;
})"""


@cache
def handout_of(study):
    """One handout for all that is asked of it."""
    return handout_html(study(), "A demo studio")


@cache
def slides_of(study):
    """The slides, made once like the handout."""
    return deck_html(deck(study(), "A demo studio"))


@pytest.fixture
def sheet(browser):
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.asked = []
    page.on("request", lambda request: page.asked.append(request.url))
    yield page
    page.close()


def pages_of(pdf: bytes) -> int:
    """Count the page objects of a PDF as Chromium writes it (uncompressed page dictionaries)."""
    return pdf.count(b"/Type /Page\n")


def test_a_third_page_would_be_noticed(sheet):
    """A handout made longer by a page is counted longer."""
    sheet.set_content(handout_html(build.demo()))
    sheet.add_style_tag(content="main::after { content: ''; display: block; height: 250mm }")

    assert pages_of(sheet.pdf(format="A4")) == 3


def test_a_covered_or_cut_text_would_be_noticed(sheet):
    """Two texts on one another, one beyond the edge."""
    sheet.set_content(
        '<svg width="90" height="40"><text x="5" y="20">one</text><text x="8" y="20">other</text>'
        '<text x="80" y="35">beyond</text></svg>'
    )

    assert sheet.evaluate(MISPLACED) == ["out: beyond", "one | other"]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_handout_prints_on_two_pages_or_on_a_third(sheet, study, paper):
    """With four millimetres to spare for another browser's letters."""
    sheet.set_content(handout_of(study))
    sheet.add_style_tag(content="footer { padding-bottom: 4mm }")

    assert pages_of(sheet.pdf(format=paper)) <= (3 if study in OVERFULL_STUDIES else 2)


def test_the_closing_line_goes_with_the_last_section(sheet):
    """Where both do not fit, both go: no page holds a single line."""
    sheet.set_content(handout_html(harmed()))
    sheet.emulate_media(media="print")
    kept = "line => getComputedStyle(line.closest('.last')).breakInside"

    assert sheet.eval_on_selector(".closing", kept) == "avoid"
    assert sheet.locator(".last .items").count() == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_handout_of_the_demonstration_prints_on_two_pages(sheet, made_demo, paper):
    """As `pmulab demo` writes it, blind scores and all."""
    sheet.set_content((made_demo / "handout.html").read_text(encoding="utf-8"))
    sheet.add_style_tag(content="footer { padding-bottom: 4mm }")

    assert pages_of(sheet.pdf(format=paper)) == 2


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_handout_reads_at_twice_the_size(sheet, study):
    """At 200 % of a 1280 pixel window nothing has to be scrolled sideways, nothing is loaded."""
    sheet.set_viewport_size({"width": 640, "height": 450})
    sheet.set_content(handout_of(study))

    assert sheet.evaluate("document.documentElement.scrollWidth") <= 640
    assert [url for url in sheet.asked if url.startswith("http")] == []


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_no_text_of_a_picture_is_cut_or_covered(sheet, study):
    """Every text of every picture lies on the sheet and beside the others."""
    findings = study()
    kept = shareable(findings).secondary
    side = "".join(pairs(effect, findings.plan)._repr_html_() for effect in kept)
    sheet.set_content(f"{handout_of(study)}{side}")

    assert sheet.evaluate(MISPLACED) == []


def test_no_text_of_the_other_pictures_is_cut_or_covered(sheet):
    """The views for planning and for a running study."""
    rows = [(6, 3.1, 3.8), (8, 2.5, 3.0), (12, 1.9, 2.2), (16, 1.6, 1.8)]
    pictures = [
        what_n_could_show(rows, worthwhile=2, unit="min", planned=12),
        what_n_could_show([], worthwhile=2, unit="percentage points"),
        running(build.under_way()),
        running(build.under_way(safety=build.crowded().safety)),
    ]
    sheet.set_content("".join(picture._repr_html_() for picture in pictures))

    assert sheet.evaluate(MISPLACED) == []


# What lies beyond its own box on a slide, or is cut by the slide's edge.
OVERFULL = """() => [...document.querySelectorAll('.slide .box')].filter(box => {
  const slide = box.closest('.slide').getBoundingClientRect(), own = box.getBoundingClientRect();
  return box.scrollHeight > box.clientHeight + 2 || box.scrollWidth > box.clientWidth + 2 ||
    own.right > slide.right + 1 || own.bottom > slide.bottom + 1;
}).map(box => box.textContent.trim().slice(0, 60))"""


@pytest.fixture
def shown(sheet, tmp_path):
    """The deck of a study, opened from its file as a person opens it."""

    def show(study):
        path = tmp_path / "slides.html"
        path.write_text(slides_of(study), encoding="utf-8")
        sheet.told = []
        sheet.on("console", lambda message: sheet.told.append(message.text))
        sheet.on("pageerror", lambda error: sheet.told.append(str(error)))
        sheet.goto(path.as_uri())
        return sheet

    return show


def test_nothing_in_the_charts_of_a_practice_is_cut_or_covered(sheet):
    """The demonstration's charts, on the page they are printed from."""
    rows = read_practice(str(files("pmulab.demo") / "practice.csv"))[0].rows
    sheet.set_content(practice_html(watch(rows)))

    assert sheet.evaluate(MISPLACED) == []
    assert sheet.evaluate("document.documentElement.scrollWidth") <= 1280


def now(sheet):
    return sheet.evaluate("document.querySelector('.slide.now').ariaLabel.split(' ')[0]")


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_slides_print_one_a_sheet(shown, study):
    """And the words to say on sheets of their own, while they are shown."""
    sheet = shown(study)
    slides = len(deck(study()).slides)

    assert pages_of(sheet.pdf(prefer_css_page_size=True)) == slides
    sheet.keyboard.press("n")
    assert slides * 2 <= pages_of(sheet.pdf(prefer_css_page_size=True)) <= slides * 3
    assert sheet.told == []


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_nothing_on_a_slide_is_cut(shown, study):
    sheet = shown(study)
    sheet.evaluate("document.body.classList.remove('turning')")

    assert sheet.evaluate(OVERFULL) == []


def test_a_cut_slide_would_be_noticed(shown):
    sheet = shown(build.demo)
    sheet.evaluate("document.body.classList.remove('turning')")
    sheet.evaluate("document.querySelector('.part').textContent = 'long '.repeat(400)")

    assert len(sheet.evaluate(OVERFULL)) == 1


def test_keys_turn_the_slides_and_nothing_is_loaded(shown):
    """Arrows, Page, Home and End; N shows the words; the title is focused for screen readers."""
    sheet = shown(build.demo)
    turned = []
    for key in ("ArrowRight", "PageDown", "ArrowLeft", "End", "ArrowRight", "Home", "ArrowLeft"):
        sheet.keyboard.press(key)
        turned.append(now(sheet))
    assert turned == ["2", "3", "2", "8", "8", "1", "1"]
    assert "slide" in sheet.evaluate("document.activeElement.className")

    assert not sheet.is_visible(".now + .words")
    sheet.keyboard.press("n")
    assert sheet.is_visible(".now + .words")
    assert sheet.get_attribute("#words", "aria-pressed") == "true"
    sheet.click("#on")
    assert now(sheet) == "2"
    assert [url for url in sheet.asked if not url.startswith("file:")] == []
    assert sheet.told == []


def test_hostile_labels_run_nothing(shown):
    """A script that a label smuggles in would be refused by the page itself."""
    sheet = shown(build.hostile)
    sheet.evaluate(
        "document.body.append(Object.assign(document.createElement('script'), {text: 'run = 1'}))"
    )

    assert any("Content Security Policy" in told for told in sheet.told)
    assert sheet.evaluate("typeof run") == "undefined"


# The smallest letter in points, as it is printed on paper of A4's width; pictures as scaled.
SMALLEST = """() => Math.min(...[...document.querySelectorAll('body, body *')]
  .filter(one => !one.closest('style') && [...one.childNodes].some(
    node => node.nodeType === Node.TEXT_NODE && node.textContent.trim()))
  .filter(one => !one.closest('svg') || one.closest('text'))
  .map(one => parseFloat(getComputedStyle(one).fontSize) * 72 / 96 *
    (one.closest("svg") ? Math.hypot(one.closest("text").getScreenCTM().a,
      one.closest("text").getScreenCTM().b) : 1)))"""
A4_BETWEEN_MARGINS = round(186 / 25.4 * 96)


def smallest(sheet, page):
    sheet.set_viewport_size({"width": A4_BETWEEN_MARGINS, "height": 1000})
    sheet.set_content(page)
    sheet.emulate_media(media="print")
    return sheet.evaluate(SMALLEST)


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_no_printed_letter_is_smaller_than_seven_points(sheet, study):
    """Seven points: about the smallest print that is read without effort (from memory)."""
    assert smallest(sheet, handout_of(study)) >= 6.99


def test_a_picture_made_smaller_would_be_noticed(sheet):
    sheet_of_less = handout_html(build.demo()).replace("max-width:100%", "max-width:60%")

    assert smallest(sheet, sheet_of_less) < 5


def test_a_numbered_step_goes_on_beside_its_number(sheet):
    """The second line begins where the first one's words do, right of the number."""
    found = build.demo()
    steps = f"1. {'Wipe lightly from the inner corner outwards. ' * 4}\n2. Cool it."
    arms = replace(found.plan.arms, A=replace(found.plan.arms.A, steps=steps))
    sheet.set_content(handout_html(replace(found, plan=replace(found.plan, arms=arms))))
    number, words = (
        sheet.evaluate(
            f"(() => {{ const box = document.querySelector('.numbered > :nth-child({place})')"
            ".getBoundingClientRect(); return [box.left, box.right, box.height]; })()"
        )
        for place in (1, 2)
    )

    assert number[1] <= words[0] + 0.5
    assert words[2] > 1.8 * number[2] or words[2] > 30
