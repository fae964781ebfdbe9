"""A workbook filled in elsewhere becomes the records; nothing that stood there is lost."""

import shutil

import pytest
from studies import paired_study

import pmulab
from pmulab.errors import UserError
from pmulab.stations.analyse import analyse
from pmulab.stations.take_records import take_records
from pmulab.study import Study

A = [5.0, 6.0, 7.0, 8.0, 5.5, 6.5, 7.5, 8.5]
B = [8.0, 9.5, 10.0, 10.5, 8.0, 10.0, 10.0, 12.0]


def test_the_file_is_analysed_and_the_earlier_one_stays(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    other = paired_study(tmp_path / "other", [a + 1 for a in A], B)
    elsewhere = shutil.copy(other.path("records.xlsx"), tmp_path / "typed at home.xlsx")
    before = study.path("records.xlsx").read_bytes()
    cards = {one.client_code: one.slot for one in study.assignments()}
    same = {one.client_code: one.slot for one in other.assignments()} == cards

    if not same:  # each study draws its own cards, so the other's workbook does not follow these
        with pytest.raises(UserError, match="was not taken in"):
            take_records(study, elsewhere)
        elsewhere = shutil.copy(study.path("records.xlsx"), tmp_path / "copy.xlsx")
        study.path("records.xlsx").write_bytes(other.path("records.xlsx").read_bytes())
        before = study.path("records.xlsx").read_bytes()
    pmulab.take_records(study, elsewhere)

    assert study.path("records.xlsx.earlier-1").read_bytes() == before
    assert analyse(Study(study.folder)).value.primary.difference.n == 8
    assert any(entry.event == "records taken in" for entry in study.journal())


def test_a_table_of_another_kind_is_refused(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    (tmp_path / "sessions.csv").write_text("client_code\nC101\n")

    with pytest.raises(UserError, match="no workbook"):
        take_records(study, tmp_path / "sessions.csv")
