"""The deck: what stands on its slides, as a page and as a file for a slide program."""

import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import findings_builder as build
import pytest
from lxml import etree
from matplotlib import get_data_path
from PIL import Image, ImageFont
from pptx import Presentation
from pptx.util import Emu

import pmulab.sharing
from pmulab.figures import palette
from pmulab.plan import Analysis
from pmulab.sharing import handout_html
from pmulab.sharing.slides import deck, deck_html, deck_pptx
from pmulab.sharing.slides.layout import HEIGHT, WIDTH, fits, place
from pmulab.wording import CAUTIONS, CLOSING, HEADINGS, INVENTED, certainty, finding

BUILT = (build.demo, build.trade, build.crowded, build.hostile, build.parallel, build.empty)


def stopped():
    """A study that was stopped, with a yes/no main measure and no interval."""
    found = build.demo()
    bare = replace(
        build.yes_no_effect().difference, interval=None, note="Five pairs have no exact interval."
    )
    verdict = replace(build.UNCLEAR, case="G7")
    primary = replace(build.yes_no_effect(), role="primary", difference=bare, verdict=verdict)
    return replace(
        found,
        plan=replace(found.plan, primary=build.TOUCH_UP, analysis=Analysis(looks=(8,))),
        primary=primary,
        provenance=replace(build.PROVENANCE, stopped="Two irritations under one way."),
    )


STUDIES = {study.__name__: study() for study in (*BUILT, stopped)}
DECKS = {name: deck(findings, "A demo studio") for name, findings in STUDIES.items()}
PAGES = {name: deck_html(one) for name, one in DECKS.items()}
FILES = {name: deck_pptx(one) for name, one in DECKS.items()}
FORBIDDEN = re.compile(
    r"\b(proves?|proven|scientifically|guaranteed|safe|no side effects|significan\w+|"
    r"superior|best|breakthrough|risk-free|patients?)\b",
    re.IGNORECASE,
)  # words that promise more than a small comparison can show (our own list)


@pytest.fixture(params=list(STUDIES))
def name(request):
    return request.param


def said(slide):
    lines = [line for row in slide.rows for part in row for line in (part.heading, *part.lines)]
    return " ".join([slide.title, *lines])


class Page(HTMLParser):
    """Reads a page as a browser would list it."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.scripts, self.open = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.open.append(tag)

    def handle_endtag(self, tag):
        while self.open and self.open.pop() != tag:
            pass

    def handle_data(self, data):
        if self.open and self.open[-1] == "script":
            self.scripts.append(data)


def show(name):
    return Presentation(BytesIO(FILES[name]))


def test_six_to_eight_slides_with_safety_before_effects(name):
    """Question, how, clients, adverse events, then what was seen and found, then cautions."""
    titles = [slide.title for slide in DECKS[name].slides]
    places = [
        titles.index(HEADINGS[head]) for head in ("method", "flow", "safety", "seen", "cautions")
    ]

    assert 6 <= len(titles) - titles.count(HEADINGS["read_first"]) <= 8
    assert places == sorted(places)
    assert next(n for n, title in enumerate(titles) if title.startswith("Finding")) > places[2]


def test_every_sentence_is_one_of_the_handout():
    """Nothing is said twice in two ways: the demonstration's slides hold the handout's words."""
    page = re.sub(r"<[^>]*>", " ", handout_html(build.demo(), "A demo studio"))
    page = " ".join(page.replace("&#39;", "'").split())
    for slide in DECKS["demo"].slides:
        for row in slide.rows:
            for part in row:
                for line in part.lines:
                    others = part.heading == HEADINGS["exploratory"]
                    phrases = re.split(r": with | \(|\)$", line) if others else [line]
                    assert all(phrase in page for phrase in phrases), line


def test_other_outcomes_stand_below_the_finding_marked_as_exploratory(name):
    """Each with its difference and interval; how it reads is in the words to say."""
    findings, slide = STUDIES[name], DECKS[name].slides[-3]
    parts = [part for row in slide.rows for part in row]
    marked = [part for part in parts if part.heading == HEADINGS["exploratory"]]

    assert "Exploratory" in HEADINGS["exploratory"]
    assert len(marked) == bool(findings.secondary)
    for part in marked:
        assert part is parts[-1]
        assert len(part.lines) == len(findings.secondary)
        assert f"{HEADINGS['exploratory']}." in slide.notes
        for effect, line in zip(findings.secondary, part.lines, strict=True):
            interval = effect.difference.interval
            assert interval is None or f"{interval.level:.0%} interval".replace("%", " %") in line


def test_finding_and_certainty_stand_on_their_slide():
    findings = STUDIES["demo"]
    slide = next(one for one in DECKS["demo"].slides if one.title == "Finding")

    assert finding(findings.primary, findings.plan) in said(slide)
    assert certainty(findings.primary) in said(slide)
    assert "p = 0.031" not in said(slide)
    assert any("p = 0.031" in line for line in slide.notes)


def test_cautions_are_whole_and_invented_data_are_marked(name):
    """Every caution of the kit and of the question; the mark at the foot of each slide."""
    shown = DECKS[name]
    last = said(shown.slides[-1])

    assert all(caution in last for caution in CAUTIONS)
    assert CLOSING in last
    assert shown.foot == f"{INVENTED} {CLOSING}"
    assert INVENTED in said(shown.slides[0])
    real = deck(replace(STUDIES[name], plan=replace(
        STUDIES[name].plan, study=replace(STUDIES[name].plan.study, invented=False)
    )))  # fmt: skip
    assert INVENTED not in real.foot + said(real.slides[0])


def test_the_last_slide_says_what_the_numbers_were_made_from(name):
    """In its words always, on it where the cautions stay large enough to read."""
    last = DECKS[name].slides[-1]
    made_from = last.notes[-1]

    assert f"journal up to line 31 {'5e' * 8}" in made_from
    if made_from in said(last):
        assert place(last).size >= 14
    else:
        assert name not in ("demo", "parallel")


def test_a_stopped_study_says_so_first_and_again_in_its_finding():
    first, found = DECKS["stopped"].slides[0], DECKS["stopped"].slides[5]

    assert "stopped early: Two irritations" in said(first)
    assert "should not be used to compare" in said(found)
    assert "Five pairs have no exact interval." in said(found)


def test_without_a_locked_plan_the_finding_is_exploratory():
    assert "Finding (exploratory: no locked plan)" in [
        slide.title for slide in DECKS["empty"].slides
    ]


def test_nobody_who_kept_her_numbers_is_drawn():
    """Clients who did not agree to share have no dot on the slide."""
    findings = build.demo()
    kept = tuple(replace(one, shared=one.client > 3) for one in findings.primary.clients)
    hidden = deck(replace(findings, primary=replace(findings.primary, clients=kept)))

    assert "9 of them shown" in hidden.slides[4].picture.svg
    assert "10.5" not in hidden.slides[4].picture.alt


def test_no_word_promises_too_much(name):
    told = " ".join(f"{said(slide)} {' '.join(slide.notes)}" for slide in DECKS[name].slides)

    assert not FORBIDDEN.search(told)


def test_every_slide_has_words_to_say(name):
    assert all(slide.notes for slide in DECKS[name].slides)


def test_everything_fits_by_a_count_of_letters(name):
    """In letters of at least 11 points, inside the slide, nothing on one another."""
    for slide in DECKS[name].slides:
        placed = place(slide)
        boxes = [box for _, box in placed.parts] + ([placed.picture] if placed.picture else [])

        assert fits(slide)
        assert placed.size >= 11
        for row, box in enumerate(boxes):
            assert box.left >= 0
            assert box.left + box.width <= WIDTH
            assert box.top + box.height <= HEIGHT - 0.5
            for other in boxes[row + 1 :]:
                apart_across = min(box.left + box.width, other.left + other.width) - max(
                    box.left, other.left
                )
                apart_down = min(box.top + box.height, other.top + other.height) - max(
                    box.top, other.top
                )
                assert min(apart_across, apart_down) <= 1e-9


def test_a_text_that_is_too_long_would_be_noticed():
    slide = DECKS["demo"].slides[3]
    long = replace(slide.rows[0][0], lines=("word " * 900,))

    assert not fits(replace(slide, rows=((long,),)))


# The page


def test_the_page_runs_its_own_script_only(name):
    """Content Security Policy level 3: one script, named by its SHA-256; nothing is loaded."""
    page = Page(PAGES[name])
    policy = next(a["content"] for tag, a in page.tags if a.get("http-equiv"))
    digest = b64encode(sha256("".join(page.scripts).encode()).digest()).decode()

    assert len(page.scripts) == 1
    assert f"script-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'")
    assert not {tag for tag, _ in page.tags} & {"link", "iframe", "object", "base", "img"}
    for _, attributes in page.tags:
        for key, value in attributes.items():
            assert not key.startswith("on")
            if key in ("src", "href", "xlink:href", "action"):
                assert value.startswith("#")
            assert not re.search(r"url\((?!#)", value or "")


def test_text_cannot_break_out_of_the_page():
    assert PAGES["hostile"].count("<script") == 1
    assert "&lt;script&gt;alert" in PAGES["hostile"]
    assert "{{ 7*7 }}" in PAGES["hostile"]


def test_slides_are_named_and_their_pictures_told(name):
    page = Page(PAGES[name])
    ids = [a["id"] for _, a in page.tags if "id" in a]
    sections = [a for tag, a in page.tags if tag == "section"]

    assert dict(page.tags)["html"]["lang"] == "en-GB"
    assert [tag for tag, _ in page.tags].count("h1") == 1
    assert all(a["aria-label"] for a in sections)
    assert len(ids) == len(set(ids))
    for picture in (a for tag, a in page.tags if tag == "svg"):
        assert set(picture["aria-labelledby"].split()) <= set(ids)


def test_same_findings_give_the_same_page():
    assert deck_html(deck(build.demo(), "A demo studio")) == PAGES["demo"]


def luminance(colour):
    """Relative luminance of WCAG 2.1."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("room", ["light", "dark"])
def test_letters_stand_out_in_light_and_dark_rooms(room):
    """4.5:1 at least (WCAG 2.1, 1.4.3); the light colours are those of the pictures."""
    sheet = (Path(pmulab.sharing.__file__).parent / "pages" / "slides.css").read_text("utf-8")
    sets = [dict(re.findall(r"--(\w+): (#\w{6})", rule)) for rule in sheet.split(":root")[1:4]]
    light, dark, printed = sets
    colours = dark if room == "dark" else light

    for letters in ("ink", "quiet", "alarm"):
        bright = sorted((luminance(colours["paper"]), luminance(colours[letters])))
        assert (bright[1] + 0.05) / (bright[0] + 0.05) >= 4.5
    assert set(light.values()) <= {*palette.MARKS, palette.PAPER}
    assert light.items() >= printed.items()


# The file


def test_the_file_holds_the_same_slides(name):
    """Titles as titles, every sentence as text, the words to say as notes."""
    shown, made = DECKS[name], show(name)

    assert len(made.slides) == len(shown.slides)
    assert Emu(made.slide_width).inches == pytest.approx(WIDTH, abs=0.01)
    for slide, written in zip(shown.slides, made.slides, strict=True):
        text = "\n".join(s.text_frame.text for s in written.shapes if s.has_text_frame)
        assert written.shapes.title.text_frame.text == slide.title
        for row in slide.rows:
            for part in row:
                assert "\n".join(filter(None, [part.heading, *part.lines])) in text
        assert shown.foot in text
        assert written.notes_slide.notes_text_frame.text == "\n".join(slide.notes)


def test_pictures_of_the_file_are_described(name):
    """Alternative text stands in `descr` (ECMA-376, non-visual drawing properties)."""
    for slide, written in zip(DECKS[name].slides, show(name).slides, strict=True):
        drawn = [shape for shape in written.shapes if shape.shape_type == 13]
        assert len(drawn) == (slide.picture is not None)
        for shape in drawn:
            assert shape._element.nvPicPr.cNvPr.get("descr") == slide.picture.alt
            pixels = Image.open(BytesIO(shape.image.blob))
            assert pixels.width / pixels.height == pytest.approx(shape.width / shape.height, 0.01)
            assert pixels.width / Emu(shape.width).inches >= 150


def test_text_of_the_file_fits_by_a_count_of_letters(name):
    """Each line at 0.5 of its letter size a letter, which is more than Arial's average.

    The average is near 0.45 for English (common practice, no source).
    """
    for written in show(name).slides:
        for shape in written.shapes:
            if not shape.has_text_frame or not shape.text_frame.text:
                continue
            frame = shape.text_frame
            inner = Emu(shape.width - frame.margin_left - frame.margin_right).pt
            height = 0.0
            for paragraph in frame.paragraphs:
                size = paragraph.runs[0].font.size.pt
                lines = -(-len(paragraph.text) * size * 0.5 // inner)
                height += lines * size * 1.2
            assert height <= Emu(shape.height).pt
            assert shape.left >= 0
            assert shape.left + shape.width <= Emu(12192000 + 1000)
            assert shape.top + shape.height <= Emu(6858000)


def drawn_lines(text, font, width):
    """Break a text at its spaces as a slide program does; a longer word is broken anywhere."""
    lines, line = 1, 0.0
    for word in text.split():
        long = font.getlength(word + " ")
        if line and line + font.getlength(word) > width:
            lines, line = lines + 1, 0.0
        lines += int(long // width)
        line += long % width
    return lines


def test_drawn_letters_stay_inside_their_boxes(name):
    """Measured with Pillow in DejaVu Sans, which is wider than Arial, as drawn in 1.17 lines.

    Line height of Arial: (1854 + 434 + 67) / 2048 = 1.15 (its hhea table, from memory).
    """
    folder = Path(get_data_path()) / "fonts" / "ttf"
    for written in show(name).slides:
        for shape in written.shapes:
            if not shape.has_text_frame or not shape.text_frame.text:
                continue
            frame, height = shape.text_frame, 0.0
            inner = Emu(shape.width - frame.margin_left - frame.margin_right).pt
            for paragraph in frame.paragraphs:
                run = paragraph.runs[0]
                face = "DejaVuSans-Bold.ttf" if run.font.bold else "DejaVuSans.ttf"
                font = ImageFont.truetype(folder / face, run.font.size.pt)
                indent = Emu(int(paragraph._p.get_or_add_pPr().get("marL", 0))).pt
                lines = drawn_lines(paragraph.text, font, inner - indent)
                height += lines * run.font.size.pt * 1.17 + (paragraph.space_after or Emu(0)).pt
            room = Emu(shape.height - frame.margin_top - frame.margin_bottom).pt
            free = 72 * 0.15 if shape == written.shapes.title else 0  # empty space below a title
            assert height <= room + free, shape.text_frame.text


def test_the_file_is_plain(name):
    """No macro, no link outside, no script in any part; every part is well-formed XML."""
    with ZipFile(BytesIO(FILES[name])) as parts:
        for part in parts.namelist():
            assert "vba" not in part.lower()
            if part.endswith((".xml", ".rels")):
                root = etree.fromstring(parts.read(part))
                assert not root.xpath("//*[@TargetMode='External']")
                assert not root.xpath("//*[local-name()='script' or local-name()='hlinkClick']")


def test_hostile_text_stays_text_in_the_file():
    text = "\n".join(s.text_frame.text for s in show("hostile").slides[0].shapes)

    assert '<script>alert("x")</script>' in text
    assert "\x07" not in text


def test_the_file_names_nobody_else():
    known = show("demo").core_properties

    assert (known.title, known.author) == ("Damp or dry wipe", "A demo studio")
    assert known.last_modified_by == "A demo studio"
    assert known.created.date().isoformat() == build.PROVENANCE.analysed


def test_steps_stand_on_a_line_each():
    """Four numbered steps under each way, none run on after another."""
    (ways, _) = DECKS["demo"].slides[1].rows
    for part, arm in zip(ways, (build.demo_plan().arms.A, build.demo_plan().arms.B), strict=True):
        assert part.lines == tuple(filter(None, map(str.strip, arm.steps.splitlines())))
