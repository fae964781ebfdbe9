"""Tricks in file names: what would land outside the study folder, or name a device."""

import json
import os
from pathlib import Path

import pytest
from scored import answers, photo, prepared, saved, scored_study
from studies import plan_text

from pmulab.devices import is_device
from pmulab.disk import read_bytes, write_atomically
from pmulab.errors import UserError
from pmulab.packs.guards import opened_archive
from pmulab.packs.register import FOLDER, read_register
from pmulab.plan import read_plan
from pmulab.stations.check import check
from pmulab.stations.photos import mark_photo, take_photo, take_photo_bytes
from pmulab.stations.receive import receive
from pmulab.stations.score_collect import collect_scores
from pmulab.stations.score_prepare import prepare_scoring

PATHS = ("../evil", "..\\evil", "/tmp/evil", "C:\\evil", "c:evil", "a/b", "a\0b", "~/evil", "$(x)",
         ".hidden", "x\ny", "‮gpj.exe", "a" * 300)  # fmt: skip
DEVICES = ("CON", "nul", "Aux", "COM1", "lpt9", "PRN")


def files_of(place):
    return sorted(str(path.relative_to(place)) for path in place.rglob("*"))


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return scored_study(tmp_path_factory.mktemp("names") / "study", clients=2, photos=False)


@pytest.mark.parametrize("code", [*PATHS, *DEVICES])
def test_a_photo_code_that_is_a_path_or_a_device_is_refused(code, study):
    before = files_of(study.folder.parent)
    with pytest.raises(UserError, match="is no code for a photo"):
        take_photo_bytes(study, photo(), code)
    with pytest.raises(UserError):
        mark_photo(study, code, {})

    assert files_of(study.folder.parent) == before


@pytest.mark.parametrize("name", [*PATHS, *DEVICES])
def test_only_the_ending_of_an_uploaded_name_is_used(name, study):
    kept = receive(study, f"{name}.csv", b"client_code\n").value

    assert kept.parent == study.folder
    assert kept.name.startswith("uploaded-")


def test_an_upload_that_is_named_like_the_records_replaces_nothing(study):
    before = study.path("records.xlsx").read_bytes()
    receive(study, "records.xlsx", b"PK\x03\x04")

    assert study.path("records.xlsx").read_bytes() == before


@pytest.mark.parametrize("name", ["con", "NUL.txt", "com3.a.b", "LPT¹"])
def test_names_of_devices(name):
    """Microsoft, Naming Files, Paths, and Namespaces: with any ending, in any case."""
    assert is_device(name)


@pytest.mark.parametrize("name", ["control", "null", "com10x", "P0517", "", "auxiliary.csv"])
def test_names_of_no_device(name):
    assert not is_device(name)


def test_a_photo_named_like_a_script_is_told_as_text_and_not_opened(tmp_path):
    study = scored_study(tmp_path / "study", clients=2)
    strange = study.path("healed-photos") / "<img src=x onerror=alert(1)>.jpg"
    strange.write_bytes(photo())
    report = prepare_scoring(study)

    assert "<img" not in report._repr_html_()


@pytest.mark.parametrize("code", ["../../R1", "CON/R1", "R1\0", "Anna", "R1\n"])
def test_answers_with_a_path_for_a_code_are_refused(code, tmp_path):
    study, one, _ = prepared(tmp_path / "study", clients=2)
    path = saved(tmp_path, answers(study, one) | {"assessor": code}, "answers.json")
    before = files_of(study.folder)
    with pytest.raises(UserError, match="is no assessor code"):
        collect_scores(study, [path])

    assert files_of(study.folder) == before


def test_what_the_kit_writes_replaces_a_link_and_never_what_it_points_to(tmp_path):
    outside = tmp_path / "outside.txt"
    outside.write_text("mine")
    link = tmp_path / "handout.html"
    link.symlink_to(outside)
    write_atomically(link, "new")

    assert outside.read_text() == "mine"
    assert not link.is_symlink()


def test_a_link_in_the_register_is_not_read(tmp_path):
    (tmp_path / FOLDER).mkdir()
    secret = tmp_path / "secret.toml"
    secret.write_text("format = 1")
    (tmp_path / FOLDER / f"wipes.{'a' * 16}.toml").symlink_to(secret)

    assert "is a link" in read_register(tmp_path).set_aside[0].why


def test_records_that_link_to_a_strange_file_show_nothing_of_it(study, tmp_path):
    secret = tmp_path / "secret.csv"
    secret.write_text("root:x:0:0:root\n")
    link = tmp_path / "events.csv"
    link.symlink_to(secret)
    told = json.dumps(check(study, link).to_dict(), default=str)

    assert "root:x" not in told


@pytest.mark.skipif(os.name != "posix", reason="named pipes")
def test_a_pipe_in_place_of_a_table_does_not_hang(study, tmp_path):
    os.mkfifo(tmp_path / "events.csv")
    report = check(study, tmp_path / "events.csv").value

    assert report.problems[0].code == "file_missing"


def test_a_folder_in_place_of_a_photo_is_told(study, tmp_path):
    (tmp_path / "x.jpg").mkdir()
    with pytest.raises(UserError, match=r"x\.jpg"):
        take_photo(study, tmp_path / "x.jpg")


@pytest.mark.skipif(os.name != "posix", reason="named pipes")
def test_a_pipe_in_place_of_a_photo_does_not_hang(tmp_path):
    """Reading a pipe into which nobody writes waits for ever (POSIX, open: FIFO)."""
    study = scored_study(tmp_path / "study", clients=2, photos=False)
    os.mkfifo(tmp_path / "x.jpg")
    with pytest.raises(UserError, match="a pipe or a device"):
        take_photo(study, tmp_path / "x.jpg")

    place = study.path("healed-photos")
    place.mkdir()
    os.mkfifo(place / "C101_L_1_2026-02-20.jpg")
    with pytest.raises(UserError, match="No photo is left"):
        prepare_scoring(study)
    study.path("photos").mkdir()
    os.mkfifo(study.path("photos/P1.jpg"))
    with pytest.raises(UserError):
        mark_photo(study, "P1", {})


@pytest.mark.skipif(os.name != "posix", reason="devices are files")
def test_a_device_without_an_end_is_never_read():
    with pytest.raises(UserError, match="a pipe or a device"):
        read_bytes(Path("/dev/zero"))


@pytest.mark.skipif(os.name != "posix", reason="named pipes")
def test_a_pipe_in_place_of_a_file_of_the_group_or_of_answers_does_not_hang(tmp_path):
    study, *_ = prepared(tmp_path / "study", clients=2)
    pipe = tmp_path / "pipe.json"
    os.mkfifo(pipe)
    with pytest.raises(UserError, match="a pipe or a device"):
        collect_scores(study, [pipe])

    register = tmp_path / FOLDER
    register.mkdir()
    os.mkfifo(register / f"wipes.{'0' * 16}.toml")
    assert len(read_register(tmp_path).set_aside) == 1
    os.mkfifo(tmp_path / "x.zip")
    with pytest.raises(UserError, match="a pipe or a device"):
        opened_archive(tmp_path / "x.zip")


@pytest.mark.parametrize("code", ["con", "aux", "com1"])
def test_a_study_is_never_named_like_a_device(code, tmp_path):
    """Its name becomes the beginning of a file name in the group's register."""
    with pytest.raises(UserError, match="name of a device"):
        read_plan(plan_text(code=code))

    register = tmp_path / FOLDER
    register.mkdir()
    (register / f"{code}.{'0' * 16}.toml").write_text("format = 1\n")
    assert "like a device" in read_register(tmp_path).set_aside[0].why
