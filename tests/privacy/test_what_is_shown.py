"""Whatever is handed on of a study names no client, least of all one who did not agree to share."""

import json
import re
from base64 import b64decode
from io import BytesIO
from zipfile import ZipFile

import pytest
from photo.synthetic import marks_of
from PIL import Image
from scored import PHOTO_YES, SECRETS, photo, put_photos
from studies import ANSWERS, clock, code_of, fill_workbook, plan_text

from pmulab.demo.lid import DrawnLid
from pmulab.demo.lid_photo import draw_jpeg
from pmulab.stations.analyse import analyse
from pmulab.stations.chart import chart
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.lock import lock
from pmulab.stations.measure import measure
from pmulab.stations.pack import pack
from pmulab.stations.photos import as_plain, mark_photo, take_photo_bytes
from pmulab.stations.pool import pool
from pmulab.stations.register import register
from pmulab.stations.score_prepare import prepare_scoring
from pmulab.stations.slides import slides
from pmulab.study import Study, begin

CLIENTS = 7
NO = {"consent_share_numbers": "no", "consent_share_photos": "no"}
DECLINED = (code_of(2), code_of(5), code_of(6))
CODES = tuple(code_of(number) for number in range(1, CLIENTS + 1))


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """A finished study in which three of seven clients did not agree, with all that it makes."""
    place = tmp_path_factory.mktemp("shared")
    study = begin(place / "study", plan_text(planned=CLIENTS), clock())
    lock(study)
    for code in CODES:
        enrol(study, code, ANSWERS | (NO if code in DECLINED else PHOTO_YES))
    study = Study(place / "study", clock(120))
    values = {(code, arm): float(n % 4 + 2 * (arm == "B"))
              for n, code in enumerate(CODES) for arm in "AB"}  # fmt: skip
    fill_workbook(study, values)
    put_photos(study, [f"{code}_{side}_1" for code in CODES for side in "LR"])
    prepare_scoring(study)
    analyse(study)
    handout(study, made_by="Studio")
    slides(study, made_by="Studio")
    pack(study, made_by="Studio")
    chart(study.folder)
    return study


def bare(text):
    """Without fingerprints, styles and drawn paths, which hold any three digits."""
    return re.sub(r"[0-9a-f]{16,}|data:[^\"')]+", "", text)


def texts_of(study):
    pages = ["handout.html", "slides.html", "practice-charts.html",
             "scoring/round-01/score-round-01.html", "scoring/round-01/round.json"]  # fmt: skip
    for name in pages:
        yield name, study.path(name).read_text(encoding="utf-8")
    for name in ("pack.zip", "slides.pptx"):
        with ZipFile(study.path(name)) as archive:
            for entry in archive.namelist():
                yield f"{name}/{entry}", archive.read(entry).decode("utf-8", "replace")


def test_nothing_that_is_handed_on_holds_a_code_of_the_studio(shared):
    for name, text in texts_of(shared):
        if not name.startswith("pack.zip"):  # its codes are fresh ones of the same form
            assert not [code for code in CODES if code in bare(text)], name


def test_the_pack_has_the_rows_of_those_who_agreed_only(shared):
    with ZipFile(shared.path("pack.zip")) as archive:
        rows = archive.read("differences.csv").decode().splitlines()[1:]
        told = json.loads(archive.read("datapackage.json"))["pmulab"]
    found = {row.split(",")[0] for row in rows}

    assert len(found) == told["clients"] == CLIENTS - len(DECLINED)
    assert told["left_out"] == len(DECLINED)
    assert not found & set(CODES)


def test_no_photo_of_a_client_who_did_not_agree_is_shown_to_an_assessor(shared):
    shown = json.loads(shared.path("scoring/round-01/round.json").read_text())["photos"]

    assert {name.stem for name in shared.path("scoring/round-01/photos").glob("P*.jpg")} == set(
        shown
    )


def test_no_file_of_a_round_tells_person_place_device_or_day(shared):
    files = [path for path in shared.path("scoring").rglob("*") if path.is_file()]

    assert any(path.suffix == ".jpg" for path in files)
    for path in files:
        content = path.read_bytes()
        assert not [secret for secret in (*SECRETS, b"Exif\0\0") if secret in content], path


def test_small_groups_are_withheld(shared):
    """Fewer than five clients with an answer: its column stays in the studio."""
    with ZipFile(shared.path("pack.zip")) as archive:
        lines = archive.read("clients.csv").decode().splitlines()
    head, rows = lines[0].split(","), [line.split(",") for line in lines[1:]]
    for place, name in enumerate(head):
        values = [row[place] for row in rows if row[place]]
        counts = {value: values.count(value) for value in values}
        assert name == "client_code" or not counts or min(counts.values()) >= 5, name


def test_the_pooled_report_names_no_client(shared, tmp_path):
    """Neither by the studio's codes nor by those of the pack, and no day of a session."""
    register(shared, tmp_path)
    made = pool(shared.path("pack.zip"), group=tmp_path, as_of="2026-06-01").files
    with ZipFile(shared.path("pack.zip")) as archive:
        rows = archive.read("clients.csv").decode().splitlines()[1:]
    fresh = [row.split(",")[0] for row in rows]

    assert len(fresh) == CLIENTS - len(DECLINED)
    for path in made:
        text = bare(path.read_text(encoding="utf-8"))
        assert not [code for code in (*CODES, *fresh) if re.search(rf"\b{code}\b", text)], path
        assert "2026-01-05" not in text


def test_the_page_of_measured_photos_tells_no_person_place_device_or_day(shared):
    """Its pictures come from the photo itself, whose file tells them."""
    lid = DrawnLid(pixels_per_mm=22.0, length=26.0)
    taken = BytesIO()
    with Image.open(BytesIO(draw_jpeg(lid))) as picture, Image.open(BytesIO(photo())) as told:
        picture.save(taken, "JPEG", quality=90, exif=told.getexif(), comment=b"secret note")
    assert all(secret in taken.getvalue() for secret in SECRETS)
    take_photo_bytes(shared, taken.getvalue(), "P1")
    mark_photo(shared, "P1", as_plain(marks_of(lid)))
    measure(shared)

    for name in ("measured.html", "measured.csv", "measured.json", "P1.jpg", "P1.marks.json"):
        content = shared.path(f"photos/{name}").read_bytes()
        coded = re.findall(rb"base64,([A-Za-z0-9+/=\s]+)", content)
        for part in (content, *map(b64decode, coded)):
            assert not [secret for secret in (*SECRETS, b"Exif\0\0") if secret in part], name
        assert not [code for code in CODES if code.encode() in content], name
    page = shared.path("photos/measured.html").read_bytes()
    assert b"base64," in page or b"<svg" in page


def test_no_page_tells_of_what_a_client_kept_her_out(made_demo):
    """A health reason told singly is one woman's own matter; all of them are told together."""
    assert "eye_disease" in (made_demo / "clients.csv").read_text(encoding="utf-8")
    for page in ("handout.html", "findings.json"):
        text = (made_demo / page).read_text(encoding="utf-8")
        assert "health: 1" in text
        assert "eye disease" not in text
