"""What was written in the first format is opened for ever; a later one is refused in words."""

import json
import shutil
from pathlib import Path

import pytest
from studies import ANSWERS, clock, plan_text

from pmulab.entries import FORMAT
from pmulab.errors import UserError
from pmulab.packs.reading import read_pack
from pmulab.packs.register import FORMAT as REGISTER
from pmulab.packs.register import read_register
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.revise import revise
from pmulab.stations.standing import studies
from pmulab.study import Study, begin

FIRST = Path(__file__).with_name("format_1")


@pytest.fixture
def first(tmp_path):
    shutil.copytree(FIRST, tmp_path / "first")
    return tmp_path / "first"


def test_a_study_folder_of_format_1_is_opened_and_goes_on(first):
    study = Study(first / "study", clock(130))
    before = study.journal()

    assert study.tampering() == ()
    assert len(study.assignments()) == 6
    assert str(handout(study))  # from the findings of then, nothing has changed since
    report = check(study)
    assert not report.found_problems
    assert analyse(study).value.flow.analysed == 6
    assert study.journal()[: len(before)] == before
    assert study.tampering() == ()


def test_pack_and_register_of_format_1_are_read(first):
    assert read_pack(first / "study" / "pack.zip").label == "format-one"
    register = read_register(first / "group")
    assert [entry.code for entry in register.entries] == ["format-one"]
    assert register.set_aside == ()


@pytest.mark.parametrize(
    ("version", "words"),
    [(FORMAT + 1, "later release"), (99, "later release"), *((one, "no format of a study folder")
     for one in (0, -1, "1", 1.0, True, None, [1]))],
)  # fmt: skip
def test_a_folder_of_another_format_is_refused_and_stays_as_it_is(tmp_path, version, words):
    study = begin(tmp_path / "study", plan_text(), clock())
    path = study.path("journal.jsonl")
    entry = json.loads(path.read_text())
    path.write_text(json.dumps(entry | {"detail": {"format": version}, "new": "key"}) + "\n")
    before = {one: one.read_bytes() for one in study.folder.iterdir()}

    calls = (check, analyse, lambda s: enrol(s, "C101", ANSWERS),
             lambda s: revise(s, {"study.title": "another"}))  # fmt: skip
    for call in calls:
        with pytest.raises(UserError, match=words) as told:
            call(study)
        assert "journal.jsonl, line 1" in told.value.what
        assert "Nothing was changed" in told.value.remedy
    assert {one: one.read_bytes() for one in study.folder.iterdir()} == before
    assert [one.reached for one in studies(tmp_path).value] == ["unreadable"]


def test_a_plan_of_a_later_format_is_refused(tmp_path):
    study = begin(tmp_path / "study", plan_text(), clock())
    study.path("plan.toml").write_text(plan_text().replace("format = 1", "format = 2"))

    with pytest.raises(UserError, match="install a newer pmulab"):
        check(study)


def test_an_entry_of_a_later_register_is_set_aside(first):
    (path,) = (first / "group" / "register").iterdir()
    path.write_text(path.read_text().replace("format = 1", f"format = {REGISTER + 1}"))

    (aside,) = read_register(first / "group").set_aside
    assert "later release" in aside.why
