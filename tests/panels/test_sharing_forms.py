"""The forms of pack and pool: the shown line does the same, failures are told."""

import shutil

import pytest
from studies import ANSWERS, clock, code_of, enrolled_study, plan_text

from pmulab.panels import Announce, Pack, Pool
from pmulab.stations.enrol import enrol
from pmulab.stations.group import open_group
from pmulab.study import begin


@pytest.fixture(scope="module")
def place(tmp_path_factory, made_demo):
    folder = tmp_path_factory.mktemp("lab")
    open_group(folder / "demo-group")
    shutil.copytree(made_demo, folder / "demo-study")
    return folder


def test_a_preview_says_what_leaves_and_writes_nothing(place):
    panel = Pack(place / "demo-study")
    panel.inputs["made_by"].value = " Studio North "
    panel._preview.click()

    assert panel.result.value is None
    assert "Nothing was written" in panel.said.value
    assert "sessions.csv: 24 rows" in panel.details.value
    assert "made_by=&#x27;Studio North&#x27;, preview=True" in panel.line.value
    assert not (place / "demo-study" / "pack.zip").exists()


def test_the_pack_is_made(place):
    panel = Pack(place / "demo-study")
    panel._clicked()

    assert "The pack is ready" in panel.said.value
    assert (place / "demo-study" / "pack.zip").exists()


def test_a_name_that_tells_too_much_is_told_in_the_form(place):
    panel = Pack(place / "demo-study")
    panel.inputs["made_by"].value = "call 0171 2345678"
    panel._clicked()

    assert panel.result is None
    assert "cannot stand on a pack" in panel.said.value


def test_the_group_is_put_together_with_its_picture(place):
    panel = Pool(place / "demo-group", "2027-03-01")
    panel._clicked()

    assert "5 of 6 registered studies are in; 1 never reported." in panel.said.value
    assert "<svg" in panel.details.value
    assert "as_of=&#x27;2027-03-01&#x27;" in panel.line.value


def test_a_wrong_folder_is_told_in_the_form(place):
    panel = Pool(place / "nowhere")
    panel._clicked()

    assert panel.result is None
    assert "is not there" in panel.said.value


def test_announcing_waits_for_the_lock(tmp_path):
    draft = begin(tmp_path / "draft", plan_text(), clock())
    panel = Announce(draft.folder)

    assert panel._button.layout.display == "none"
    assert panel.inputs == {}
    assert panel.said.value == ""


def test_without_a_group_the_form_is_quiet_and_says_so_when_pressed(tmp_path):
    panel = Announce(enrolled_study(tmp_path / "study", 0).folder)

    assert panel.said.value == ""
    panel._clicked()
    assert "without a group leave this out" in panel.said.value


def test_a_plan_is_announced_before_the_first_client_then_told_of(tmp_path):
    study = enrolled_study(tmp_path / "study", 0)
    group = tmp_path / "group"
    group.mkdir()
    panel = Announce(study.folder)
    panel.inputs["group"].value, panel.inputs["due"].value = str(group), "2027-03-01"
    panel.press()

    assert "Announced to the group" in panel.said.value
    assert "register(study=" in panel.line.value
    assert list(group.glob("register/*.toml")) == list(panel.result.files)
    assert panel._button.description == "Tell the group how it stands"
    assert "due" not in panel.inputs

    enrol(study, code_of(1), ANSWERS)
    panel.inputs["group"].value = str(group)
    panel.press()
    assert "Told the group: running, 1 client so far." in panel.said.value
