"""Scripts and formulas in every text that a person can type, and all pages and sheets of them."""

import csv
import json
import re
from html.parser import HTMLParser
from io import BytesIO
from zipfile import ZipFile

import openpyxl
import pandas as pd
import pytest
from photo.synthetic import marks_of
from scored import PHOTO_YES, put_photos
from studies import ANSWERS, HEALED, SESSION, clock, code_of, plan_text

from pmulab.demo.lid import DrawnLid
from pmulab.demo.lid_photo import draw_jpeg
from pmulab.errors import UserError
from pmulab.panels.showing import heading, line_of_code, page_frame, paragraphs, said
from pmulab.stations.analyse import analyse
from pmulab.stations.answer import Answer
from pmulab.stations.chart import chart
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.lock import lock
from pmulab.stations.measure import measure
from pmulab.stations.opening import expectations
from pmulab.stations.pack import pack
from pmulab.stations.photos import as_plain, mark_photo, take_photo_bytes
from pmulab.stations.pool import pool
from pmulab.stations.register import register
from pmulab.stations.score_prepare import prepare_scoring
from pmulab.stations.slides import slides
from pmulab.study import RECORDS, Study, begin
from pmulab.tables.workbook import workbook_bytes

EVIL = "</script><x-evil onload=steal()>\"'><!--"
FORMULA = '=HYPERLINK("http://example.org/?"&A1)'
NAME = "<x-evil onload=steal()>'"
CELLS = (FORMULA, "+1+1", "-cmd|'/c calc'!A1", "@A1+1", "\t=1+1", EVIL)
_TEXTS = ("title", "question", "label", "allowed_by", "later_use", "unblinding", "looking_early",
          "after_care", "sharing")  # fmt: skip


class _Tags(HTMLParser):
    """Every tag and attribute that a browser would see."""

    def __init__(self):
        super().__init__()
        self.seen = []

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, tuple(name for name, _ in attrs)))


def assert_harmless(page):
    """No tag of the text became one of the page, and none of its quotes ended an attribute."""
    parser = _Tags()
    parser.feed(page)
    tags = {tag for tag, _ in parser.seen}
    names = {name for _, attrs in parser.seen for name in attrs}

    assert "x-evil" not in tags
    assert not any(name.startswith("on") for name in names), names
    assert "<x-evil" not in page
    assert "</script><" not in page.replace("</script></", "")


def evil_plan():
    """A plan with the script in every text."""
    written = plan_text(design="within-person", planned=6, table="sessions")
    toml = json.dumps(EVIL, ensure_ascii=False)
    for name in _TEXTS:
        written = re.sub(rf"(?m)^{name} = .*$", lambda found: f"{found[0].split(' =')[0]} = {toml}",
                         written)  # fmt: skip
    first, second = json.dumps(EVIL + "1"), json.dumps(EVIL + "2")
    written = written.replace(f"label = {toml}", f"label = {first}", 1)
    return written.replace(f"label = {toml}", f"label = {second}", 1)


@pytest.fixture(scope="module")
def evil(tmp_path_factory):
    """A finished study with it, through the same doors as a user's."""
    folder = tmp_path_factory.mktemp("evil") / "study & <x-evil>"
    study = begin(folder, evil_plan(), clock())
    lock(study)
    for number in range(1, 7):
        enrol(study, code_of(number), ANSWERS | PHOTO_YES)
    study = Study(folder, clock(120))
    study_rows(study)
    return study


def study_rows(study):
    plan, sessions, healed, events = study.plan(), [], [], []
    for place, card in enumerate(study.assignments()):
        for side in "LR":
            arm = card.slot.arm_of(side)
            key = {"client_code": card.client_code, "side": side}
            cards = {"arm_planned": arm, "arm_actual": arm,
                     "order": "1" if side == card.slot.first else "2"}  # fmt: skip
            own = {
                plan.primary.name: str(place + (arm == "A") * (1 + place % 2)),
                "note": CELLS[place],
            }
            sessions.append(SESSION | key | cards | own | {"pigment_batch": CELLS[place]})
            healed.append(HEALED | key | {"note": CELLS[place]})
        events.append({"client_code": card.client_code, "session_no": "1", "event": "none_seen",
                       "signed_by": "P1", "note": EVIL})  # fmt: skip
    rows = {"sessions": sessions, "healed": healed, "events": events}
    frames = {name: pd.DataFrame(found) for name, found in rows.items()}
    blank = next(e.detail["workbook"] for e in study.journal() if e.event == "plan locked")
    content = workbook_bytes(plan.tables(), expectations(plan, study.assignments()), frames)
    study.fill_blank(RECORDS, content, blank)


def test_no_cell_of_the_workbook_is_a_formula(evil):
    book = openpyxl.load_workbook(evil.path(RECORDS))
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    typed = [cell.value for cell in cells if cell.value in CELLS]

    assert len(typed) >= 3 * len(CELLS)
    assert not any(cell.data_type == "f" or cell.hyperlink for cell in cells)


def test_the_report_of_the_check(evil):
    report = check(evil).value

    assert_harmless(report.to_html())
    assert_harmless(report._repr_html_())


@pytest.mark.parametrize("name", ["chairside-sheet.html"])
def test_pages_written_at_locking(evil, name):
    page = evil.path(name).read_text(encoding="utf-8")

    assert "&lt;x-evil" in page
    assert_harmless(page)


def test_findings_handout_and_slides(evil):
    answer = analyse(evil)
    handout(evil, made_by=EVIL)
    slides(evil, made_by=EVIL)

    assert_harmless(answer._repr_html_())
    assert_harmless(answer.value._repr_html_() if hasattr(answer.value, "_repr_html_") else "")
    page = evil.path("handout.html").read_text(encoding="utf-8")
    assert "&lt;x-evil" in page
    assert_harmless(page)
    assert_harmless(evil.path("slides.html").read_text(encoding="utf-8"))
    with ZipFile(BytesIO(evil.path("slides.pptx").read_bytes())) as deck:
        assert not any(b"<x-evil" in deck.read(name) for name in deck.namelist())


def test_the_scoring_page(evil):
    put_photos(evil, [f"{code_of(n)}_{side}_1" for n in range(1, 7) for side in "LR"])
    answer = prepare_scoring(evil)
    page = next(evil.path("scoring").glob("round-*/score-*.html")).read_text(encoding="utf-8")

    assert_harmless(answer._repr_html_())
    assert_harmless(page)


def test_the_pooled_report(evil, tmp_path):
    """Of a pack with it, and of files beside it that are named like a script."""
    analyse(evil)
    register(evil, tmp_path)
    pack(evil, tmp_path / f"{NAME}.zip", made_by=EVIL)
    (tmp_path / f"{NAME} 2.zip").write_bytes(b"PK")
    (tmp_path / "register" / f"{NAME}.txt").write_text(EVIL)
    answer = pool(tmp_path, group=tmp_path, as_of="2026-06-01")
    page = answer.files[0].read_text(encoding="utf-8")

    assert [one.label for one in answer.value.set_aside] == [f"{NAME} 2.zip", f"{NAME}.txt"]
    assert page.count("&lt;x-evil") >= 6  # title, both ways, its maker, two files set aside
    assert_harmless(page)
    assert_harmless(answer._repr_html_())


def test_the_page_of_practice_charts(evil, tmp_path):
    """Of a study with it, and of a table with it in its notes, a column name and its own name."""
    analyse(evil)
    of_study = chart(evil.folder)
    place = tmp_path / NAME
    place.mkdir()
    head = ["client_no", "session_date", "adverse_event", "work_min", "segments_kept",
            "touchup_needed", "change_note", EVIL]  # fmt: skip
    notes = [*CELLS, *[""] * 6]
    rows = [[str(n), f"2026-03-{n:02}", "no", str(15 + n % 3), "8", "no", note, EVIL]
            for n, note in enumerate(notes, 1)]  # fmt: skip
    with (place / "practice.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([head, *rows])
    of_table = chart(place)

    for answer in (of_study, of_table):
        assert answer.files, str(answer)
        page = answer.files[0].read_text(encoding="utf-8")
        assert "x-evil" in page
        assert_harmless(page)
        assert_harmless(answer._repr_html_())


def test_the_page_of_measured_photos(evil):
    """A photo's code is the only word on it that is typed, and takes no script."""
    lid = DrawnLid(pixels_per_mm=22.0, length=26.0)
    with pytest.raises(UserError, match="no code for a photo"):
        take_photo_bytes(evil, draw_jpeg(lid), EVIL)
    take_photo_bytes(evil, draw_jpeg(lid), "P1")
    mark_photo(evil, "P1", as_plain(marks_of(lid)))
    answer = measure(evil)
    page = evil.path("photos/measured.html").read_text(encoding="utf-8")
    table = evil.path("photos/measured.csv").read_text(encoding="utf-8")
    cells = [cell for row in csv.reader(table.splitlines()) for cell in row]

    assert answer.value[0].code in page
    assert_harmless(page)
    assert_harmless(answer._repr_html_())
    assert not [cell for cell in cells if cell[:1] in ("=", "+", "@", "\t")]


def test_a_pack_holds_no_formula_and_no_script(evil):
    analyse(evil)
    pack(evil, made_by="Studio")
    with ZipFile(evil.path("pack.zip")) as archive:
        tables = {n: archive.read(n).decode() for n in archive.namelist() if n.endswith(".csv")}

    assert tables
    for name, text in tables.items():
        cells = [cell for line in text.splitlines() for cell in line.split(",")]
        strange = [c for c in cells if c[:1] in "=@\t" or re.match(r"[+-](?![0-9.]+$)", c)]
        assert not [cell for cell in strange if cell], name
        assert "x-evil" not in text


@pytest.mark.parametrize(
    "made",
    [
        lambda: Answer((EVIL,), None)._repr_html_(),
        lambda: paragraphs([EVIL]),
        lambda: said([EVIL], "done"),
        lambda: line_of_code(f"enrol({EVIL!r})"),
        lambda: heading(EVIL),
        lambda: page_frame(EVIL, EVIL),
    ],
)
def test_whatever_the_forms_show(made):
    assert_harmless(made())


def test_the_watch_notices_a_script():
    with pytest.raises(AssertionError):
        assert_harmless(f"<p title='{EVIL}'>")
    with pytest.raises(AssertionError):
        assert_harmless(f"<p>{EVIL}</p>")


@pytest.mark.browser
def test_a_browser_runs_nothing(evil, browser):
    analyse(evil)
    handout(evil, made_by=EVIL)
    slides(evil, made_by=EVIL)
    chart(evil.folder)
    shown = browser.new_page()
    shown.add_init_script("window.stolen = false; window.steal = () => { window.stolen = true }")
    for name in ("handout.html", "slides.html", "chairside-sheet.html", "practice-charts.html"):
        shown.goto(evil.path(name).as_uri())
        assert shown.locator("x-evil").count() == 0, name
        assert shown.evaluate("window.stolen") is False, name
    shown.set_content("<img src=x onerror=steal()>")
    shown.wait_for_function("window.stolen")  # the trap itself works
    shown.close()
