"""A study begun by mistake leaves the list; nothing of it is moved, changed or deleted."""

import pytest

from pmulab.errors import UserError
from pmulab.stations.lock import PROMISES, lock
from pmulab.stations.new import new
from pmulab.stations.put_away import AWAY, away, bring_back, put_away
from pmulab.stations.revise import revise
from pmulab.stations.standing import studies


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    new("wipes", "wipe-material")
    new("group/pigments", "pigment-family")
    return tmp_path


def files(place):
    return {path: path.read_bytes() for path in place.rglob("*") if path.is_file()}


def test_a_draft_leaves_the_list_and_comes_back(here):
    before = files(here / "group")
    put_away("group/pigments")
    listed = studies()

    assert [one.folder for one in listed.value] == ["wipes"]
    assert "Put away from this list: group/pigments." in str(listed)
    assert files(here / "group") == before
    assert bring_back().value == ("group/pigments",)
    assert [one.folder for one in studies().value] == ["group/pigments", "wipes"]


def test_it_is_left_out_wherever_the_list_is_asked_for(here, monkeypatch):
    put_away("wipes")
    monkeypatch.chdir(here / "group")

    assert [one.folder for one in studies(here).value] == [f"{here.as_posix()}/group/pigments"]


def test_a_study_that_has_begun_stays_on_the_list(here):
    revise("wipes", {f"promises.{one}": "Settled (invented)." for one in PROMISES})
    lock("wipes")

    with pytest.raises(UserError, match="stays on the list"):
        put_away("wipes")
    assert len(studies().value) == 2


def test_what_is_no_study_cannot_be_put_away(here):
    with pytest.raises(UserError):
        put_away("nothing-here")


@pytest.mark.parametrize("text", ["{", "3", "[3]", '{"a": 1}', '"wipes"', "[[1]]"])
def test_a_list_that_cannot_be_read_leaves_nothing_out(here, text):
    (here / AWAY).write_text(text)

    assert not away()
    assert len(studies().value) == 2
