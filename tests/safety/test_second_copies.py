"""Copies that programs for shared folders make are named and never read.

The forms of their names are common practice, no source.
"""

import pytest
from scored import answers as invented_answers
from scored import prepared, saved
from studies import enrolled_study

from pmulab.copies import second_copies
from pmulab.errors import UserError
from pmulab.stations.check import check
from pmulab.stations.score_collect import collect_scores

COPIES = [
    "plan (conflicted copy 2026-01-05).toml",
    "plan (1).toml",
    "plan-STUDIO.toml",
    "journal-PC.jsonl",
    "journal (1).jsonl",
    "journal.sync-conflict-20260105-101010-ABCDEFG.jsonl",
    "journal~1.jsonl",
    "Copy of journal.jsonl",
    "allocation_laptop.csv",
    "allocation (STUDIO's conflicted copy 2026-01-05).csv",
    "clients (2).csv",
    "clients-STUDIO2.csv",
    "records (1).xlsx",
    "records-PC.xlsx",
    "records.conflict-1.xlsx",
    "Kopie von records.xlsx",
    "findings (1).json",
]
OWN = [
    "enrol-answers-C101.toml",
    "records-as-first-typed.xlsx",
    "uploaded-1.csv",
    "notes (1).txt",
    "pack.zip",
    "records.xlsx.earlier-1",
    "my plans.txt",
]


def test_every_second_copy_is_named_by_the_check_and_none_is_read(tmp_path):
    study = enrolled_study(tmp_path / "study", 1)
    before = study.journal()
    for name in COPIES:
        study.path(name).write_bytes(b"nonsense that nobody can read")

    lines = str(check(study)).splitlines()
    silent = [name for name in COPIES if not any(name in one and "second" in one for one in lines)]
    assert silent == []
    assert study.journal()[: len(before)] == before
    assert len(study.assignments()) == 1


def test_files_of_ones_own_are_no_second_copies(tmp_path):
    study = enrolled_study(tmp_path / "study", 1)
    for name in OWN:
        study.path(name).write_bytes(b"mine")

    assert list(second_copies(study.folder)) == []


def test_copies_inside_a_scoring_round_are_named_and_not_taken(tmp_path):
    study, one, _ = prepared(tmp_path / "study", clients=2)
    files = [saved(tmp_path, invented_answers(study, one, code)) for code in ("R1", "R2")]
    collect_scores(study, files)
    rows = study.path(one.healed)
    copies = [
        rows.with_name("healed-round-01 (1).csv"),
        rows.with_name("answers") / "R1 (1).json",
        study.path("scoring/round-01 (conflicted copy)") / "healed-round-01.csv",
    ]
    healed = len(check(study).value)
    for path in copies:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(rows.read_bytes().replace(b",no,", b",yes,"))

    told = str(check(study))
    assert len(check(study).value) == healed
    for name in ("healed-round-01 (1).csv", "R1 (1).json", "round-01 (conflicted copy)"):
        assert f"{name} looks like a second copy" in told


def test_answers_that_lie_there_twice_open_no_key(tmp_path):
    study, one, _ = prepared(tmp_path / "study", clients=2)
    place = study.path(one.folder) / "answers"
    place.mkdir()
    for name in ("R1.json", "R1-PC.json"):
        saved(place, invented_answers(study, one, "R1"), name)

    with pytest.raises(UserError, match="both of the assessor R1"):
        collect_scores(study)
