"""What Windows does to files and names, as far as it can be shown elsewhere."""

from pathlib import PureWindowsPath

import pytest
from studies import enrolled_study, plan_text

from pmulab import check
from pmulab.disk import typed
from pmulab.plan import read_plan

TEXTS = ["plan.toml", "allocation.csv", "clients.csv", "enrol-answers.toml", "journal.jsonl"]


def test_line_ends_do_not_change_a_plan():
    text = plan_text()

    assert read_plan(text.replace("\n", "\r\n")).fingerprint == read_plan(text).fingerprint


@pytest.mark.parametrize("name", TEXTS)
def test_a_file_saved_with_other_line_ends_is_read(tmp_path, name):
    """The cards are nobody's to save: they are read all the same, and the change is told."""
    study = enrolled_study(tmp_path / "study", 4, planned=8)
    path = study.path(name)
    path.write_bytes(path.read_bytes().replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))
    told = " ".join(check(study).lines)

    assert len(study.assignments()) == 4
    assert ("Changed outside" in told) == (name == "allocation.csv")


@pytest.mark.parametrize(
    ("path", "words"),
    [
        (r"C:\studies\wipes", r"C:\studies\wipes"),
        (r"C:\Users\Zoë Ünal\my studies", r'"C:\Users\Zoë Ünal\my studies"'),
    ],
)
def test_paths_are_told_as_a_windows_shell_takes_them(path, words):
    assert typed(PureWindowsPath(path)) == words
