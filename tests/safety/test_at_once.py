"""Two and four windows in one study folder: nothing is lost, nothing stands twice."""

import pytest
from safety.at_once import collecting, enrolling, journalling
from safety.killing import together
from studies import clock, enrolled_study, plan_text

from pmulab.errors import UserError
from pmulab.stations.absent import absent
from pmulab.stations.chart import begin_practice
from pmulab.study import Study, begin

pytestmark = pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")


@pytest.mark.parametrize("work", [enrolling, journalling, collecting])
def test_nothing_is_lost_or_doubled(tmp_path, work):
    assert work(tmp_path / "study", 2, 4) == []


def test_two_studies_begun_in_one_folder_at_once_are_one(tmp_path):
    plans = [plan_text(planned=number) for number in (2, 4, 6, 8)]
    answers = together(*(lambda p=p: begin(tmp_path / "study", p, clock()) for p in plans))

    kinds = sorted(kind for kind, _ in answers)
    assert kinds == ["done", "refused", "refused", "refused"]
    assert (tmp_path / "study" / "plan.toml").read_text() in plans
    assert len(Study(tmp_path / "study").journal()) == 1


def test_one_client_is_said_to_be_absent_once(tmp_path):
    study = enrolled_study(tmp_path / "study", 2)
    together(*[lambda: absent(study, "C101", "moved away")] * 4)

    events = [entry.event for entry in study.journal()]
    assert events.count("client never came") == 1
    with pytest.raises(UserError, match="was written down"):
        absent(study, "C101", "another reason")


def test_one_practice_table_is_begun(tmp_path):
    kinds = [kind for kind, _ in together(*[lambda: begin_practice(tmp_path / "p")] * 4)]
    assert sorted(kinds) == ["done", "refused", "refused", "refused"]
