"""A plan can be changed until it is locked; its comments stay."""

import pytest

from pmulab.errors import UserError
from pmulab.stations.lock import PROMISES, lock
from pmulab.stations.new import new
from pmulab.stations.revise import revise
from pmulab.study import Study


@pytest.fixture
def draft(tmp_path):
    new(tmp_path / "study", "wipe-material")
    return tmp_path / "study"


def comments(folder):
    lines = (folder / "plan.toml").read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line.startswith("#")]


def test_entries_are_changed_and_every_comment_stays(draft):
    before = comments(draft)
    told = 'Asked "the insurer" \\ then\nthe group.'
    revise(draft, {"arms.A.label": "moist", "clients.planned": 16, "promises.sharing": told})

    plan = Study(draft).plan()
    assert plan.arms.A.label == "moist"
    assert plan.clients.planned == 16
    assert plan.promises.sharing == told
    assert comments(draft) == before


def test_the_main_measure_changes_places_with_a_further_one(draft):
    before = Study(draft).plan()
    revise(draft, {"primary.worthwhile": 1.0, "primary": "pain_work"})

    after = Study(draft).plan()
    names = [one.name for one in before.secondary]
    assert after.primary.name == "pain_work"
    assert after.primary.worthwhile == 1.0
    assert after.secondary[names.index("pain_work")] == before.primary
    revise(draft, {"primary": "work_min"})
    assert Study(draft).plan().primary == before.primary


def test_lists_and_entries_of_further_outcomes_can_be_changed(draft):
    revise(draft, {"secondary.1.worthwhile": 2.5, "analysis.looks": (8,)})

    plan = Study(draft).plan()
    assert plan.secondary[1].worthwhile == 2.5
    assert plan.analysis.looks == (8,)


@pytest.mark.parametrize(
    "changes",
    [
        {"primary.worthwhile": 0},
        {"primary.worthwhile": "two"},
        {"primary.worthwhile": None},
        {"primary": "no_such_outcome"},
        {"secondary.9.worthwhile": 1.0},
        {"study.colour": "blue"},
        {"format.deeper": 1},
        {"clients.planned": 1},
        {"arms.A.label": ""},
    ],
)
def test_what_does_not_fit_is_refused_and_nothing_is_written(draft, changes):
    before = (draft / "plan.toml").read_bytes()
    with pytest.raises(UserError):
        revise(draft, {"arms.B.label": "something else"} | changes)

    assert (draft / "plan.toml").read_bytes() == before


def test_a_locked_plan_is_never_rewritten(draft):
    revise(draft, {f"promises.{name}": "Settled (invented)." for name in PROMISES})
    lock(draft)
    before = (draft / "plan.toml").read_bytes()
    with pytest.raises(UserError, match="stays as it is"):
        revise(draft, {"arms.A.label": "moist"})

    assert (draft / "plan.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda text: text + "\n[[[\n", "line"),
        (lambda text: text + "\n[]\n", "line"),
        (lambda text: text + "\n[clients]\n", r"plan\.toml"),
        (lambda text: "\x00\x01", r"plan\.toml"),
        (lambda text: "", r"plan\.toml"),
        (lambda text: "format = 1\nprimary = 3\n", r"plan\.toml"),
        (lambda text: "secondary = 5\n" + text, r"plan\.toml"),
    ],
)
@pytest.mark.parametrize("change", [{"arms.A.label": "moist"}, {"primary": "pain_work"}])
def test_a_broken_plan_is_told_and_left_alone(draft, spoil, told, change):
    plan = draft / "plan.toml"
    plan.write_text(spoil(plan.read_text(encoding="utf-8")), encoding="utf-8")
    before = plan.read_bytes()
    with pytest.raises(UserError, match=told):
        revise(draft, change)

    assert plan.read_bytes() == before


def test_what_records_have_to_show_is_added_and_taken_out_without_moving_a_note(tmp_path):
    new(tmp_path / "study", "section-by-section")
    folder = tmp_path / "study"
    before = comments(folder)
    column = "arms.B.recorded.numbing_min"
    revise(folder, {column: [20, 30], "arms.B.recorded.passes": [1, 3], "healed.latest": None})

    shown = Study(folder).plan().arms.B.recorded
    assert shown == {"numbing_min": (20, 30), "passes": (1, 3)}
    assert comments(folder) == before
    written = (folder / "plan.toml").read_text(encoding="utf-8")
    assert written.index("recorded]\nnumbing_min") < written.index("# PRIMARY OUTCOME")
    revise(folder, {column: None, "arms.B.recorded.passes": None})
    assert not Study(folder).plan().arms.B.recorded
    with pytest.raises(UserError, match="no entry"):
        revise(folder, {column: None})


def test_a_name_forgotten_beside_changed_steps_is_told(tmp_path):
    new(tmp_path / "study", "numbing-time")
    said = revise(tmp_path / "study", {"arms.B.label": "numbing for 30 minutes"})
    assert any("says 30 in its name, but" in one for one in said.lines)


def test_a_way_that_says_another_number_than_its_records_may_show_is_not_locked(tmp_path):
    new(tmp_path / "study", "numbing-time")
    folder = tmp_path / "study"
    revise(folder, {f"promises.{name}": "Settled (invented)." for name in PROMISES})
    steps = Study(folder).plan().arms.B.steps.replace("15 minutes", "10 min")
    said = revise(folder, {"arms.B.steps": steps})
    assert any("Way B (shorter numbing) says 10 in its steps" in one for one in said.lines)
    with pytest.raises(UserError, match="13 to 17 in 'Numbing time") as caught:
        lock(folder)
    assert "[arms.B.recorded] numbing_min" in caught.value.remedy
    assert not (folder / "allocation.csv").exists()

    for honest in (
        {"arms.B.steps": steps + "\nNumbing for 15 min in all."},
        {"arms.B.recorded.numbing_min": None},
        {"arms.B.recorded.numbing_min": [8, 12]},
    ):
        text = (folder / "plan.toml").read_bytes()
        assert len(revise(folder, honest).lines) == 1
        (folder / "plan.toml").write_bytes(text)
    revise(folder, honest)
    lock(folder)
