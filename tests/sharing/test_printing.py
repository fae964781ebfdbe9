"""Prints and shows the handout in a real browser."""

import findings_builder as build
import pytest

from pmulab.figures import pairs, running, what_n_could_show
from pmulab.sharing import handout_html

pytestmark = pytest.mark.browser

STUDIES = (
    build.demo,
    build.trade,
    build.crowded,
    build.hostile,
    build.parallel,
    build.empty,
)

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
    sheet.add_style_tag(content="footer { padding-bottom: 250mm }")

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
def test_handout_prints_on_two_pages(sheet, study, paper):
    """With four millimetres to spare for another browser's letters."""
    sheet.set_content(handout_html(study(), "A demo studio"))
    sheet.add_style_tag(content="footer { padding-bottom: 4mm }")

    assert 1 <= pages_of(sheet.pdf(format=paper)) <= 2


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_handout_reads_at_twice_the_size(sheet, study):
    """At 200 % of a 1280 pixel window nothing has to be scrolled sideways, nothing is loaded."""
    sheet.set_viewport_size({"width": 640, "height": 450})
    sheet.set_content(handout_html(study(), "A demo studio"))

    assert sheet.evaluate("document.documentElement.scrollWidth") <= 640
    assert [url for url in sheet.asked if url.startswith("http")] == []


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.__name__)
def test_no_text_of_a_picture_is_cut_or_covered(sheet, study):
    """Every text of every picture lies on the sheet and beside the others."""
    findings = study()
    side = "".join(pairs(effect, findings.plan)._repr_html_() for effect in findings.secondary)
    sheet.set_content(f"{handout_html(findings)}{side}")

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
