"""Charts of consecutive clients: from a table, its folder, or a finished study; never over hers."""

import json
import shutil

import pytest
from studies import enrolled_study, paired_study

from pmulab.errors import UserError
from pmulab.stations.analyse import analyse
from pmulab.stations.chart import begin_practice, chart

HEAD = "client_no,session_date,adverse_event,work_min,segments_kept,touchup_needed,change_note"
A = [5.0, 6.0, 7.0, 8.0, 5.5, 6.5, 7.5, 8.5]
B = [8.0, 9.5, 10.0, 10.5, 8.0, 10.0, 10.0, 12.0]


@pytest.fixture
def table(tmp_path):
    rows = [f"{n},2026-03-{n:02},no,{15 + n % 3},8,no," for n in range(1, 15)]
    path = tmp_path / "mine" / "practice.csv"
    path.parent.mkdir()
    path.write_text("\n".join([HEAD, *rows]) + "\n")
    return path


def test_a_folder_and_its_file_give_the_same_charts(table):
    by_folder, by_file = chart(table.parent), chart(table)

    assert by_folder.value == by_file.value
    assert by_folder.files == (table.parent / "practice-charts.html",)
    assert not by_folder.found_problems
    json.dumps(by_folder.to_dict(), allow_nan=False)


def test_the_demonstration_is_made_when_it_is_asked_for(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    answer = chart("demo-practice")

    assert answer.lines[0].startswith("Invented data")
    assert "Invented data" in answer.files[0].read_text()
    before = (tmp_path / "demo-practice" / "practice.csv").read_bytes()
    assert chart("demo-practice").value == answer.value
    assert (tmp_path / "demo-practice" / "practice.csv").read_bytes() == before


def test_problems_are_listed_and_nothing_is_written(table):
    table.write_text(table.read_text().replace("2026-03-05,no,17", "2026-03-05,no,1700"))
    answer = chart(table)

    assert answer.found_problems
    assert answer.value is None
    assert "row 6" in str(answer)
    assert not (table.parent / "practice-charts.html").exists()


def test_what_was_mended_or_is_to_be_looked_at_stands_on_the_page(table):
    table.write_text(table.read_text().replace(",15,8,no", ",15 min,8,no"))
    answer = chart(table)

    assert any("unit taken off" in line for line in answer.lines)
    assert "unit taken off" in answer.files[0].read_text()


def test_a_page_of_hers_is_never_written_over(table):
    page = table.parent / "practice-charts.html"
    page.write_text("my own notes")

    with pytest.raises(UserError, match="never overwritten"):
        chart(table)
    assert page.read_text() == "my own notes"


def test_a_blank_table_is_made_once(tmp_path):
    made = begin_practice(tmp_path / "new")

    assert made.value.name == "practice.xlsx"
    with pytest.raises(UserError, match="already there"):
        begin_practice(tmp_path / "new")
    with pytest.raises(UserError, match="No client is in the table"):
        chart(tmp_path / "new")


@pytest.mark.parametrize("given", ["nothing", "."])
def test_without_a_table_the_remedy_makes_one(tmp_path, given):
    with pytest.raises(UserError, match="no table of clients") as refused:
        chart(tmp_path / given)
    assert "--begin" in refused.value.remedy


def test_two_tables_are_not_guessed_between(table):
    shutil.copy(table, table.with_suffix(".txt"))
    with pytest.raises(UserError, match="not clear which"):
        chart(table.parent)


def test_a_running_study_keeps_its_outcomes_hidden(tmp_path):
    study = enrolled_study(tmp_path / "study", 4)

    with pytest.raises(UserError, match="still runs"):
        chart(study.folder)
    assert not (study.folder / "practice-charts.html").exists()


def test_a_page_with_a_client_who_did_not_agree_to_share_stays_in_the_studio(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    rows = study.path("clients.csv").read_text().splitlines()
    header, first = rows[0].split(","), rows[1].split(",")
    first[header.index("consent_share_numbers")] = "no"
    first[header.index("consent_share_numbers_date")] = ""
    study.path("clients.csv").write_text("\n".join([rows[0], ",".join(first), *rows[2:]]) + "\n")
    analyse(study)
    chart(study.folder)
    page = (study.folder / "practice-charts.html").read_text(encoding="utf-8")

    assert "Keep this page in the studio" in page
    assert "1 client on it did not agree" in page


def test_a_finished_study_is_charted_with_both_ways_together(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    with pytest.raises(UserError, match="still runs"):
        chart(study.folder)
    analyse(study)
    answer = chart(study.folder)

    assert answer.value.clients == 8
    assert any("both ways together" in line for line in answer.lines)
    assert not any("Keep this page" in line for line in answer.lines)
    assert answer.value.moments == ()
    assert not study.tampering()
