"""The table of consecutive clients: read forgivingly, checked strictly, by the one reader."""

from io import BytesIO

import pandas as pd
import pytest
from openpyxl import Workbook, load_workbook

from pmulab.tables import (
    Expectations,
    practice_tables,
    practice_workbook,
    read_practice,
    workbook_bytes,
)
from pmulab.tables.example import example_frames

HEAD = "client_no,session_date,adverse_event,work_min,segments_kept,touchup_needed,change_note"


def table(tmp_path, *rows, head=HEAD, name="practice.csv"):
    path = tmp_path / name
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def found(report):
    return {(problem.code, problem.row, problem.column) for problem in report.problems}


def test_the_invented_example_is_clean_in_both_formats(tmp_path):
    tables = practice_tables()
    book = workbook_bytes(tables, Expectations(tables=tables), example_frames(tables))
    (tmp_path / "practice.xlsx").write_bytes(book)
    practice, report = read_practice(tmp_path / "practice.xlsx")

    assert not report
    assert practice.rows["work_min"].tolist() == [17.5, 16, 18, 15.5, 14, 15]
    assert practice.rows["change_note"].dropna().tolist() == ["finer needle"]
    assert practice.missing["reason"].tolist() == ["NA_not_done"] * 2


def test_the_blank_workbook_is_clean_and_empty(tmp_path):
    (tmp_path / "my clients.xlsx").write_bytes(practice_workbook())
    practice, report = read_practice(tmp_path / "my clients.xlsx")

    assert not report
    assert practice.rows.empty
    assert load_workbook(BytesIO(practice_workbook())).sheetnames == ["guide", "practice", "lists"]


def test_form_is_mended_and_told(tmp_path):
    """Semicolons, decimal commas, titles as names, an odd date, another file name."""
    head = "Client number;Session date;Adverse event;Working minutes;Segments kept;Touch-up needed"
    path = table(
        tmp_path, "1;2026/3/2;No;17,5;8;n", "2;9 March 2026;no;16 min;7,5;YES", head=head,
        name="minutes of spring.csv",
    )  # fmt: skip
    practice, report = read_practice(path)

    assert not report.blocks
    assert practice.rows["work_min"].tolist() == [17.5, 16.0]
    assert practice.rows["touchup_needed"].tolist() == [False, True]
    assert any("decimal comma" in line for line in report.mends_in_words())


def test_a_workbook_sheet_of_another_name_is_recognised_by_its_columns(tmp_path):
    book = Workbook()
    book.active.title = "Sheet1"
    book.active.append(HEAD.split(","))
    book.active.append([1, "2026-03-02", "no", 17, 8, "no", None])
    book.save(tmp_path / "mine.xlsx")
    practice, report = read_practice(tmp_path / "mine.xlsx")

    assert not report.blocks
    assert len(practice.rows) == 1


def test_rows_are_put_in_the_order_of_the_clients(tmp_path):
    rows = [f"{n},2026-03-0{n},no,{10 + n},8,no," for n in (3, 1, 2)]
    practice, report = read_practice(table(tmp_path, *rows))

    assert not report
    assert practice.rows["client_no"].tolist() == [1, 2, 3]
    again, _ = read_practice(table(tmp_path, *sorted(rows)))
    assert again.fingerprint == practice.fingerprint


@pytest.mark.parametrize(
    ("rows", "problem"),
    [
        (["1,2026-03-02,no,17,8,no,", "2,2026-02-02,no,17,8,no,"],
         ("dates_out_of_order", 3, "session_date")),
        (["1,2026-03-02,no,17,8,no,", "4,2026-03-09,no,17,8,no,"],
         ("clients_left_out", 3, "client_no")),
        (["1,2026-03-02,no,17,8,no,new lamp"], ("change_at_the_start", 2, "change_note")),
        (["1,2026-03-02,no,17,8,no,", "1,2026-03-09,no,17,8,no,"], ("doubled_row", 3, "client_no")),
        (["1,2026-03-02,no,170,8,no,"], ("outside_limits", 2, "work_min")),
        (["1,2026-03-02,no,,8,no,"], ("blank", 2, "work_min")),
        (["1,2026-03-02,,17,8,no,"], ("blank", 2, "adverse_event")),
        (["1,03/04/2026,no,17,8,no,"], ("ambiguous_date", 2, "session_date")),
        (["1,2026-03-02,no,17,8,no,", "2,2026-03-09,no,17,8,no,call 0171 234 5678"],
         ("identifying_text", 3, "change_note")),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named_with_its_row(tmp_path, rows, problem):
    _, report = read_practice(table(tmp_path, *rows))

    assert problem in found(report)
    assert all(one.what and one.remedy for one in report.problems)


def test_a_name_in_a_column_of_its_own_is_found(tmp_path):
    _, report = read_practice(
        table(tmp_path, "1,2026-03-02,no,17,8,no,,x@mail.example", head=f"{HEAD},e-mail")
    )

    assert report.blocks
    assert any("e-mail" in problem.column for problem in report.problems)


def test_mixed_lids_are_pointed_out_once(tmp_path):
    rows = [f"{n},2026-03-0{n},no,17,8,no,,{lid}" for n, lid in enumerate(
        ("upper", "upper", "lower", "upper"), start=1
    )]  # fmt: skip
    _, report = read_practice(table(tmp_path, *rows, head=f"{HEAD},lid"))

    assert [p.row for p in report.problems if p.code == "lids_mixed"] == [4]
    assert not report.blocks


def test_the_file_is_never_written_to(tmp_path):
    path = table(tmp_path, "1,2026-03-02,no,17,8,no,")
    before = path.read_bytes()
    read_practice(path)

    assert path.read_bytes() == before


def test_types_are_those_of_the_tables(tmp_path):
    practice, _ = read_practice(table(tmp_path, "1,2026-03-02,no,17,NA_not_done,NA_not_done,"))

    assert practice.rows["touchup_needed"].dtype == "boolean"
    assert pd.isna(practice.rows.loc[0, "segments_kept"])
