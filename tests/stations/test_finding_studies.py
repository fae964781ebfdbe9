"""Studies are found, opened and told apart by how far they have come; files are taken in."""

import pytest
from studies import ANSWERS

from pmulab.errors import UserError
from pmulab.stations.enrol import enrol
from pmulab.stations.lock import PROMISES, lock
from pmulab.stations.new import new
from pmulab.stations.open_study import open_study
from pmulab.stations.receive import receive
from pmulab.stations.revise import revise
from pmulab.stations.standing import standing, studies
from pmulab.study import Study


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def locked(name):
    new(name, "wipe-material")
    revise(name, {f"promises.{one}": "Settled (invented)." for one in PROMISES})
    lock(name)


def test_a_study_tells_what_comes_next_at_each_station(here):
    new("wipes", "wipe-material")
    assert standing("wipes").value.reached == "plan"
    assert "notebook 01" in standing("wipes").value.next_step
    revise("wipes", {f"promises.{one}": "Settled (invented)." for one in PROMISES})
    lock("wipes")
    assert standing("wipes").value.reached == "lock"
    enrol("wipes", "C101", ANSWERS | {"study_exclusion": "no"})

    found = standing("wipes").value
    assert (found.reached, found.enrolled, found.planned) == ("enrol", 1, 12)
    assert found.folder == "wipes"


def test_studies_are_found_two_levels_deep_and_hidden_ones_are_not(here):
    for name in ("b", "a", "group/c", "group/deep/d", ".hidden/e"):
        new(name, "wipe-material")

    assert [one.folder for one in studies().value] == ["a", "b", "group/c"]


def test_a_study_that_cannot_be_read_is_listed_with_its_reason(here):
    new("a", "wipe-material")
    (here / "a" / "plan.toml").write_text("format = ")

    (found,) = studies().value
    assert found.reached == "unreadable"
    assert "plan.toml" in found.title


def test_no_study_yet_is_told(here):
    assert "no study here yet" in str(studies())


def test_the_demonstration_is_made_whole_when_it_is_asked_for(here):
    answer = open_study("demo-study")

    assert "Invented data" in str(answer)
    assert str(here) not in str(answer)
    assert standing("demo-study").value.reached == "handout"
    assert [path.name for path in here.iterdir()] == ["demo-study"]
    before = (here / "demo-study" / "journal.jsonl").read_bytes()
    open_study("demo-study")
    assert (here / "demo-study" / "journal.jsonl").read_bytes() == before


def test_no_other_study_is_made_up(here):
    with pytest.raises(UserError, match="no study"):
        open_study("my-study")
    assert list(here.iterdir()) == []


def test_a_file_is_taken_in_under_a_new_name_each_time(here):
    locked("wipes")
    first = receive("wipes", "Jane Roe 1990.xlsx", b"one").value
    second = receive("wipes", "../../records.xlsx", b"two").value

    assert (first.name, second.name) == ("uploaded-1.xlsx", "uploaded-2.xlsx")
    assert (first.read_bytes(), second.read_bytes()) == (b"one", b"two")
    assert "Jane" not in Study("wipes").path("journal.jsonl").read_text()


@pytest.mark.parametrize(("name", "content"), [("a.xlsx", b""), ("a.exe", b"x"), ("a", b"x")])
def test_a_file_of_no_use_is_refused(here, name, content):
    locked("wipes")
    with pytest.raises(UserError):
        receive("wipes", name, content)

    assert not list((here / "wipes").glob("uploaded-*"))
