"""Photos are taken in without a word about anyone, marked, measured, and never overwritten."""

import json
from io import BytesIO
from math import cos, radians

import pytest
from photo.synthetic import marks_of
from PIL import Image
from studies import enrolled_study, fill_workbook

from pmulab.demo.lid import DrawnLid
from pmulab.demo.lid_photo import draw_jpeg
from pmulab.errors import UserError
from pmulab.stations.measure import look_at_photo, measure
from pmulab.stations.photos import as_plain, mark_photo, photos, take_photo, take_photo_bytes
from pmulab.stations.strip import strip

LID = DrawnLid(gaps=((4.0, 6.5),), pixels_per_mm=22.0, length=26.0)
VALUES = {(f"C10{n}", arm): 1.0 for n in (1, 2) for arm in "AB"}


@pytest.fixture(scope="module")
def picture():
    return draw_jpeg(LID)


@pytest.fixture
def study(tmp_path):
    return enrolled_study(tmp_path / "s", 2, table="healed", name="own_value")


def marks():
    return as_plain(marks_of(LID))


def taken(study, picture, code="P1"):
    take_photo_bytes(study, picture, code)
    mark_photo(study, code, marks())


def events(study):
    return [(entry.event, dict(entry.detail)) for entry in study.journal()]


def test_the_strip_says_which_light_and_how_to_hold_the_phone(study):
    """What the kit cannot see has to be done right: the light, and the phone held parallel.

    A flat thing tipped by an angle looks narrower by its cosine (elementary geometry).
    """
    page = " ".join(strip(study).value.read_text(encoding="utf-8").split())

    assert "lamps of 4,000 K or more: the number stands on the lamp or its box" in page
    assert "white balance, set it on the grey bar" in page
    assert "Hold the phone parallel to the strip. Tipped by 20 degrees" in page
    assert "5 to 6 % narrower, and the kit cannot see that" in page
    assert 5 <= 100 * (1 - cos(radians(20))) < 6.5


def test_a_photo_leaves_place_time_and_name_behind(study, picture, tmp_path):
    exif = Image.Exif()
    exif[306], exif[315] = "2026:03:01 10:00:00", "Somebody"
    exif.get_ifd(0x8825)[1] = "N"
    target = BytesIO()
    Image.open(BytesIO(picture)).save(target, "JPEG", exif=exif, comment=b"Somebody")
    own = tmp_path / "IMG_20260301_Somebody.jpg"
    own.write_bytes(target.getvalue())

    code = take_photo(study, own).value

    kept = study.path(f"photos/{code}.jpg").read_bytes()
    assert own.read_bytes() == target.getvalue()
    for told in (b"Somebody", b"2026:03:01", b"Exif"):
        assert told not in kept
    journal = study.path("journal.jsonl").read_text()
    assert "IMG_" not in journal
    assert "Somebody" not in journal
    assert ("photo taken in", code) == (events(study)[-1][0], events(study)[-1][1]["photo"])


def test_a_photo_is_never_overwritten(study, picture):
    take_photo_bytes(study, picture, "P1")
    before = study.path("photos/P1.jpg").read_bytes()

    with pytest.raises(UserError, match="already there"):
        take_photo_bytes(study, picture[:-2] + b"\xff\xd9", "P1")
    assert study.path("photos/P1.jpg").read_bytes() == before


@pytest.mark.parametrize(
    "code", ["../x", "a/b", "a b", "x" * 41, ".hidden", "anna@mail.org", "P1.jpg", "\n"]
)
def test_a_code_is_a_code(study, picture, code):
    if not code.strip():
        assert take_photo_bytes(study, picture, code).value.startswith("P")
        return
    with pytest.raises(UserError):
        take_photo_bytes(study, picture, code)
    assert list(study.folder.parent.glob("*.jpg")) == []


def test_what_is_no_photo_is_refused_by_name(study, tmp_path):
    wrong = tmp_path / "notes.txt"
    wrong.write_text("no photo")

    with pytest.raises(UserError, match=r"notes\.txt"):
        take_photo(study, wrong)
    with pytest.raises(UserError, match="not there"):
        take_photo(study, tmp_path / "nothing.jpg")


def test_earlier_marks_are_kept(study, picture):
    taken(study, picture)
    first = study.path("photos/P1.marks.json").read_text()
    moved = marks()
    moved["line"]["width_mm"] = 1.5
    mark_photo(study, "P1", moved)
    mark_photo(study, "P1", moved)

    assert study.path("photos/P1.marks.json.earlier-1").read_text() == first
    assert not study.path("photos/P1.marks.json.earlier-2").exists()
    assert json.loads(study.path("photos/P1.marks.json").read_text())["line"]["width_mm"] == 1.5


def test_marks_of_no_photo_are_refused(study):
    with pytest.raises(UserError, match="no photo 'P9'"):
        mark_photo(study, "P9", marks())
    with pytest.raises(UserError, match="no photo"):
        mark_photo(study, "../../plan", marks())


def test_marks_can_be_saved_before_they_are_complete(study, picture):
    take_photo_bytes(study, picture, "P1")
    said = mark_photo(study, "P1", {"grey": marks()["grey"]}).lines[0]

    assert "millimetre scale" in said
    assert "planned line" in said
    assert measure(study).value[0].reading.measured is None
    assert photos(study).lines == ("P1: marked",)


def test_the_values_reach_the_healed_rows_that_name_the_photo(study, picture):
    fill_workbook(study, VALUES, healed={"photo_code": "P1"})
    taken(study, picture)
    answer = measure(study)

    assert not answer.found_problems
    row = study.path("photos/measured.csv").read_text().splitlines()[1].split(",")
    assert row[:2] == ["P1", "ok"]
    assert float(row[2]) == pytest.approx(100 * (1 - 2.5 / 26), abs=3)
    assert float(row[3]) == pytest.approx(1.2, abs=0.06)
    data = json.loads(study.path("photos/measured.json").read_text())
    assert data["photos"]["P1"]["measured"]["kept"]["plus_minus"] > 0
    page = study.path("photos/measured.html").read_text()
    assert "stay in the studio" in page
    assert 'role="img"' in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    again = measure(study)
    assert again.data == answer.data


def test_one_photo_can_be_looked_at_without_writing(study, picture):
    taken(study, picture)
    before = sorted(path.name for path in study.path("photos").iterdir())
    looked = look_at_photo(study, "P1")

    assert looked.value.reading.measured is not None
    assert before == sorted(path.name for path in study.path("photos").iterdir())


def test_between_lash_work_is_refused_by_what_was_recorded(study, picture):
    fill_workbook(study, VALUES, healed={"photo_code": "P1"}, session={"style": "lash_enhancement"})
    taken(study, picture)
    answer = measure(study)

    assert [one.code for one in answer.value[0].reading.refusals] == ["between_lashes"]
    assert study.path("photos/measured.csv").read_text().count("\n") == 1


def test_a_line_that_is_not_healed_is_refused(study, picture):
    fill_workbook(study, VALUES, healed={"photo_code": "P1", "healed_date": "2026-01-20"})
    taken(study, picture)
    answer = measure(study)

    assert [one.code for one in answer.value[0].reading.refusals] == ["too_early"]
    assert "P1,too_early,NA_not_done" in study.path("photos/measured.csv").read_text()
    assert answer.found_problems


def test_a_photo_that_was_exchanged_is_not_measured_by_old_marks(study, picture):
    taken(study, picture)
    take_photo_bytes(study, picture, "P2")
    other = study.path("photos/P2.jpg").read_bytes() + b"\x00"
    study.path("photos/P1.jpg").write_bytes(other)
    answer = measure(study)

    assert any("not the one that was marked" in line for line in answer.lines)
    assert any(line == "Not marked yet: P2." for line in answer.lines)


def test_the_strip_is_true_to_scale_and_says_what_it_cannot(study):
    page = strip(study).value.read_text()

    # CSS: 1 unit of the viewBox is 1 mm on paper when width and viewBox agree
    assert 'width="56mm" height="15mm" viewBox="0 0 56 15"' in page
    assert page.count('stroke-width="0.25"') == 5 * 41
    for words in ("only roughly grey", "ruler", "100 %", "Never lay a card", "broken skin"):
        assert words in page
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")
