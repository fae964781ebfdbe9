"""Messy files as people save them: exactly which problems and mends each one gives.

Text tables follow RFC 4180 section 2, dates ISO 8601 (YYYY-MM-DD), tables the Data Package
standard's Table Schema.  How spreadsheet programs and people spoil such files: common practice,
no source.
"""

import zipfile
from dataclasses import replace
from datetime import date, datetime, time
from io import BytesIO

import pytest
from openpyxl import Workbook
from tables.invented_study import EXPECTED, Study

from pmulab.tables import read_and_check, study_tables

B, L = "blocks analysis", "look at this"
CASES = []


def case(problems=(), mends=(), name="records.xlsx"):
    """Register a builder with the report rows it must give, all of them and no others.

    A problem is (code, severity, sheet, row, column), a mend (sheet, row, column, was, now).
    """

    def register(build):
        label = build.__name__.strip("_").replace("_", " ")
        CASES.append(pytest.param(build, list(problems), list(mends), id=label))
        return build

    return register


@pytest.mark.parametrize(("build", "problems", "mends"), CASES)
def test_report_rows(build, problems, mends, tmp_path):
    folder = tmp_path / "study"
    folder.mkdir()
    build(folder)
    before = {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()}

    records, report = read_and_check(folder, EXPECTED)

    found = [(p.code, p.severity, p.sheet, p.row, p.column) for p in report.problems]
    mended = [(m.sheet, m.row, m.column, m.was, m.now) for m in report.mends]
    assert sorted(found, key=str) == sorted(problems, key=str)
    assert sorted(mended, key=str) == sorted(mends, key=str)
    assert report.blocks == any(severity == B for _, severity, *_ in problems)
    assert {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()} == before
    for problem in report.problems:
        assert problem.what.strip().endswith((".", "?"))
        assert problem.remedy.strip().endswith(".")
        assert problem.file
    assert len(records.fingerprint) == 64


# Formats that are fine


@case()
def clean_workbook(folder):
    Study().write_xlsx(folder)


@case()
def clean_csv(folder):
    Study().write_csv(folder)


@case()
def csv_with_byte_order_mark(folder):
    Study().write_csv(folder, encoding="utf-8-sig")


@case(mends=[("", None, "", "semicolons", "commas")] * 1)
def semicolons(folder):
    study = Study()
    study.write_csv(folder, only=["clients", "healed", "events"])
    study.write_csv(folder, delimiter=";", only=["sessions"])


@case(mends=[("", None, "", "tabs", "commas")])
def tabs_in_a_tsv_file(folder):
    study = Study()
    study.write_csv(folder, only=["clients", "healed", "events"])
    study.write_csv(folder, delimiter="\t", suffix=".tsv", only=["sessions"])


@case(mends=[("", None, "", "tabs", "commas"), ("", None, "", "UTF-16", "UTF-8")])
def utf16_text_as_a_spreadsheet_saves_it(folder):
    study = Study()
    study.write_csv(folder, only=["clients", "healed", "events"])
    study.write_csv(folder, delimiter="\t", suffix=".txt", encoding="utf-16", only=["sessions"])


@case(mends=[("", None, "", "Windows text (cp1252)", "UTF-8")])
def cp1252(folder):
    study = Study().put("sessions", 2, note="lid a little gereizt, crème used")
    study.write_csv(folder, only=["clients", "healed", "events"])
    study.write_csv(folder, encoding="cp1252", only=["sessions"])


@case(mends=[("", None, "", "semicolons", "commas")])
def sep_note_in_the_first_line(folder):
    study = Study()
    study.write_csv(folder, only=["clients", "healed", "events"])
    text = "sep=;\r\n" + study.csv_text("sessions", ";")
    (folder / "sessions.csv").write_bytes(text.encode())


@case()
def quoted_comma_quote_and_line_break(folder):  # RFC 4180 section 2, rules 6 and 7
    study = Study().put("sessions", 2, note='slow, "soft"\r\nwipe')
    study.write_csv(folder)


@case([("outside_limits", B, "", 3, "passes")])
def row_numbers_count_records_not_lines(folder):
    Study().put("sessions", 2, note="two\nlines").put("sessions", 3, passes="99").write_csv(folder)


@case()
def empty_rows_and_trailing_empty_columns(folder):
    study = Study()
    for rows in study.rows.values():
        for row in rows:
            row += ["", "  "]
        rows.insert(3, [""] * len(rows[0]))
        rows.append([" "] * len(rows[0]))
    study.write_csv(folder)


# Headers


@case(
    mends=[
        ("sessions", 1, "work_min", "Working minutes", "work_min"),
        ("sessions", 1, "session_date", "SESSION DATE", "session_date"),
        ("sessions", 1, "pain_work", "pain-work ", "pain_work"),
        ("sessions", 1, "elapsed_min", "Elapsed minutes (min)", "elapsed_min"),
    ]
)
def headers_written_otherwise(folder):
    study = Study().header("sessions", "work_min", "Working minutes")
    study.header("sessions", "session_date", "SESSION DATE")
    study.header("sessions", "pain_work", "pain-work ")
    study.header("sessions", "elapsed_min", "Elapsed minutes (min)")
    study.write_xlsx(folder)


@case()
def columns_reordered(folder):
    study = Study()
    for table, rows in study.rows.items():
        study.rows[table] = [row[::-1] for row in rows]
    study.write_xlsx(folder)


@case([("unknown_column", L, "sessions", 1, "weather")])
def unknown_column(folder):
    Study().add_column("sessions", "weather", ["rain"]).write_xlsx(folder)


@case(
    [
        ("unknown_column", L, "sessions", 1, "work_mins"),
        ("missing_column", B, "sessions", 1, "work_min"),
    ]
)
def misspelt_column(folder):
    Study().header("sessions", "work_min", "work_mins").write_xlsx(folder)


@case([("missing_column", B, "healed", 1, "blinded")])
def missing_column(folder):
    Study().drop_column("healed", "blinded").write_xlsx(folder)


@case()
def optional_column_left_out(folder):
    Study().drop_column("sessions", "tearing").write_xlsx(folder)


@case([("doubled_column", B, "sessions", 1, "passes")])
def doubled_column(folder):
    Study().add_column("sessions", "passes", ["3"]).write_xlsx(folder)


@case(mends=[("sessions", 3, "", "row 1", "row 3")])
def title_above_the_header(folder):
    book = Study().book()
    book["sessions"].insert_rows(1, 2)
    book["sessions"]["A1"] = "My sessions in spring"
    book.save(folder / "records.xlsx")


@case([("no_column_names", B, "sessions", 1, "")])
def header_missing(folder):
    book = Study().book()
    book["sessions"].delete_rows(1)
    book.save(folder / "records.xlsx")


@case(
    [
        ("unknown_column", L, "clients", 1, "Phone"),
        ("identifying_text", B, "clients", 1, "Phone"),
        ("identifying_text", B, "clients", 3, "Phone"),
    ]
)
def phone_numbers_in_a_column_of_her_own(folder):
    Study().add_column("clients", "Phone", ["", "+44 20 7946 0999"]).write_xlsx(folder)


# Sheets and files


@case([("table_missing", B, "", None, "")])
def missing_sheet(folder):
    Study().write_xlsx(folder, only=["clients", "sessions", "events"])


@case([("sheet_not_read", L, "prices", None, "")])
def extra_sheet(folder):
    book = Study().book()
    book.create_sheet("prices").append(["item", "price"])
    book.create_sheet("guide").append(["how to fill in"])
    book.create_sheet("lists").append(["yes", "no"])
    book.save(folder / "records.xlsx")


@case([("no_records", B, "", None, "")])
def empty_folder(folder):
    (folder / "plan.toml").write_text("")


@case([("empty_file", B, "", None, "")])
def empty_file(folder):
    Study().write_csv(folder, only=["clients", "sessions", "events"])
    (folder / "healed.csv").write_bytes(b"")


@case([("open_elsewhere", L, "", None, ""), ("copy_not_read", L, "", None, "")])
def lock_file_and_conflict_copy(folder):
    Study().write_xlsx(folder)
    (folder / "~$records.xlsx").write_bytes(b"\x05user")
    (folder / "records (conflicted copy).xlsx").write_bytes(b"PK\x03\x04")


@case([("wrong_suffix", B, "", None, "")])
def text_named_xlsx(folder):
    (folder / "records.xlsx").write_text(Study().csv_text("clients"))
    Study().write_csv(folder)


@case([("wrong_suffix", B, "", None, "")])
def workbook_named_csv(folder):
    Study().write_csv(folder, only=["clients", "healed", "events"])
    book = BytesIO()
    Study().book(["sessions"]).save(book)
    (folder / "sessions.csv").write_bytes(book.getvalue())


@case([("locked_or_old_workbook", B, "", None, "")])
def password_protected_or_old_workbook(folder):
    Study().write_csv(folder)
    (folder / "records.xlsx").write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600)


@case([("wrong_kind_of_file", B, "", None, "")])
def workbook_of_another_program(folder):
    Study().write_csv(folder)
    (folder / "records.ods").write_bytes(b"PK\x03\x04")


@case([("broken_workbook", B, "", None, "")])
def workbook_cut_short(folder):
    Study().write_csv(folder)
    book = BytesIO()
    Study().book().save(book)
    (folder / "records.xlsx").write_bytes(book.getvalue()[:3000])


@case([("not_a_workbook", B, "", None, "")])
def other_archive_named_xlsx(folder):
    Study().write_csv(folder)
    with zipfile.ZipFile(folder / "records.xlsx", "w") as archive:
        archive.writestr("word/document.xml", "<x/>")


def _with_part(folder, name, content):
    Study().write_csv(folder)
    Workbook().save(folder / "records.xlsx")
    with zipfile.ZipFile(folder / "records.xlsx", "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, content)


@case([("holds_macros", B, "", None, "")])
def workbook_with_macros(folder):
    _with_part(folder, "xl/vbaProject.bin", b"x")


@case([("links_to_other_files", B, "", None, "")])
def workbook_with_external_links(folder):
    _with_part(folder, "xl/externalLinks/externalLink1.xml", b"<x/>")


@case([("unpacks_too_large", B, "", None, "")])
def zip_bomb(folder):
    _with_part(folder, "xl/media/blob.bin", b"0" * 60_000_000)


@case([("broken_workbook", B, "", None, "")])
def entity_bomb_inside_a_workbook(folder):
    _with_declaration(folder, b'<!DOCTYPE x [<!ENTITY a "aa">]><workbook>&a;</workbook>')


@case([("broken_workbook", B, "", None, "")])
def entity_bomb_in_another_encoding(folder):
    text = '<?xml version="1.0" encoding="UTF-16"?><!DOCTYPE x [<!ENTITY a "aa">]><workbook/>'
    _with_declaration(folder, text.encode("utf-16"))


def _with_declaration(folder, workbook):
    Study().write_csv(folder)
    book = BytesIO()
    Study().book(["clients"]).save(book)
    with (
        zipfile.ZipFile(BytesIO(book.getvalue())) as old,
        zipfile.ZipFile(folder / "records.xlsx", "w") as new,
    ):
        for name in old.namelist():
            content = old.read(name)
            if name == "xl/workbook.xml":
                content = workbook
            new.writestr(name, content)


@case([("not_text", B, "", None, "")])
def photo_named_csv(folder):
    Study().write_csv(folder, only=["clients", "healed", "events"])
    (folder / "sessions.csv").write_bytes(b"\x89PNG\0\0\0\rIHDR")


# Cells that are mended


@case(mends=[("", 2, "work_min", "14,5", "14.5"), ("", 3, "pain_work", "4,0", "4")])
def decimal_comma(folder):
    Study().put("sessions", 2, work_min="14,5").put("sessions", 3, pain_work="4,0").write_csv(
        folder
    )


@case(
    mends=[
        ("", 2, "work_min", "14 min", "14"),
        ("", 3, "work_min", "16,5 minutes", "16.5"),
        ("", 4, "planned_length_mm", "27mm", "27"),
    ]
)
def units_in_number_cells(folder):
    study = Study().put("sessions", 2, work_min="14 min")
    study.put("sessions", 3, work_min="16,5 minutes").put("sessions", 4, planned_length_mm="27mm")
    study.write_csv(folder)


@case(
    mends=[
        ("sessions", 2, "arm_planned", "damp NONWOVEN", "A"),
        ("sessions", 2, "arm_actual", " Damp  nonwoven ", "A"),
        ("sessions", 3, "arm_actual", "b", "B"),
        ("sessions", 3, "side", "Right", "R"),
        ("sessions", 4, "wipe_material", "Dry nonwoven", "dry_nonwoven"),
        ("sessions", 5, "style", "lash_enhancement\u00a0", "lash_enhancement"),
    ]
)
def capitals_spaces_and_labels_in_choices(folder):
    study = Study().put("sessions", 2, arm_planned="damp NONWOVEN", arm_actual=" Damp  nonwoven ")
    study.put("sessions", 3, arm_actual="b", side="Right")
    study.put("sessions", 4, wipe_material="Dry nonwoven")
    study.put("sessions", 5, style="lash_enhancement\u00a0").write_xlsx(folder)


@case(
    mends=[
        ("clients", 2, "eligible", "Yes", "yes"),
        ("clients", 3, "eligible", "y", "yes"),
        ("clients", 4, "eligible", "TRUE", "yes"),
        ("clients", 5, "eligible", "1", "yes"),
        ("clients", 6, "eligible", "FALSE", "no"),
        ("clients", 2, "old_pigment", "0", "no"),
    ]
)
def yes_and_no_in_many_forms(folder):
    study = Study().put("clients", 2, eligible="Yes", old_pigment=0)
    study.put("clients", 3, eligible="y").put("clients", 4, eligible=True)
    study.put("clients", 5, eligible=1).put("clients", 6, eligible=False).write_xlsx(folder)


@case([("not_flag", B, "clients", 2, "eligible")])
def yes_in_another_language(folder):
    Study().put("clients", 2, eligible="ja").write_xlsx(folder)


@case(
    mends=[
        ("clients", 2, "client_code", "c314", "C314"),
        ("clients", 3, "client_code", " C 159", "C159"),
        ("healed", 2, "photo_code", "P50L ", "P50L"),
    ]
)
def codes_with_spaces_and_small_letters(folder):
    study = Study().put("clients", 2, client_code="c314").put("clients", 3, client_code=" C 159")
    study.put("healed", 2, photo_code="P50L ").write_xlsx(folder)


@case(
    mends=[
        ("sessions", 2, "tearing", "na-not-done", "NA_not_done"),
        ("sessions", 2, "wipes", "NA refused ", "NA_refused"),
    ]
)
def reason_codes_written_otherwise(folder):
    Study().put("sessions", 2, tearing="na-not-done", wipes="NA refused ").write_xlsx(folder)


@case()
def date_cells(folder):
    study = Study().put("sessions", 2, session_date=date(2026, 3, 2))
    study.put("sessions", 3, session_date=datetime(2026, 3, 2)).write_xlsx(folder)


@case(
    mends=[
        ("", 2, "session_date", "2 March 2026", "2026-03-02"),
        ("", 3, "session_date", "March 2nd, 2026", "2026-03-02"),
        ("", 8, "session_date", "23.03.2026", "2026-03-23"),
        ("", 9, "session_date", "03/23/2026", "2026-03-23"),
        ("", 4, "session_date", "2026/3/9", "2026-03-09"),
        ("", 5, "session_date", "2026-03-09T00:00:00", "2026-03-09"),
    ]
)
def dates_that_can_be_read_one_way(folder):
    study = Study().put("sessions", 2, session_date="2 March 2026")
    study.put("sessions", 3, session_date="March 2nd, 2026")
    study.put("sessions", 4, session_date="2026/3/9")
    study.put("sessions", 5, session_date="2026-03-09T00:00:00")
    study.put("sessions", 8, session_date="23.03.2026")
    study.put("sessions", 9, session_date="03/23/2026").write_csv(folder)


@case(mends=[("sessions", 2, "session_date", "46083", "2026-03-02")])
def day_number_of_a_spreadsheet(folder):  # 46082 = 2026-03-01, so 46083 = 2026-03-02
    Study().put("sessions", 2, session_date=46083).write_xlsx(folder)


# Cells that are refused


@case([("ambiguous_date", B, "", 2, "session_date")])
def date_that_can_be_read_two_ways(folder):
    Study().put("sessions", 2, session_date="01/03/2026").write_csv(folder)


@case(
    [
        ("not_date", B, "", 2, "session_date"),
        ("not_date", B, "", 3, "session_date"),
        ("not_date", B, "", 4, "session_date"),
    ]
)
def dates_that_are_none(folder):
    study = Study().put("sessions", 2, session_date="2026-02-30")
    study.put("sessions", 3, session_date="next Monday")
    study.put("sessions", 4, session_date="99999").write_csv(folder)


@case([("date_for_number", B, "sessions", 2, "work_min")])
def number_turned_into_a_date(folder):
    Study().put("sessions", 2, work_min=datetime(2026, 5, 14)).write_xlsx(folder)


@case([("error_value", B, "sessions", 2, "work_min"), ("error_value", B, "sessions", 3, "passes")])
def error_values(folder):
    Study().put("sessions", 2, work_min="#N/A").put("sessions", 3, passes="#DIV/0!").write_xlsx(
        folder
    )


@case([("formula_without_value", B, "sessions", 2, "work_min")])
def formula_without_stored_value(folder):
    Study().put("sessions", 2, work_min="=10+4").write_xlsx(folder)


@case(
    [
        ("merged_cells", B, "sessions", 2, ""),
        ("blank", B, "sessions", 3, "operator_code"),
    ]
)
def merged_cells(folder):
    book = Study().book()
    column = Study().column("sessions", "operator_code") + 1
    book["sessions"].merge_cells(start_row=2, end_row=3, start_column=column, end_column=column)
    book.save(folder / "records.xlsx")


@case([("hidden_rows", L, "sessions", None, "")])
def hidden_row(folder):
    book = Study().book()
    book["sessions"].row_dimensions[4].hidden = True
    book.save(folder / "records.xlsx")


@case([("blank", B, "", 2, "work_min"), ("blank", B, "", 3, "deviation")])
def blanks_where_an_answer_is_needed(folder):
    Study().put("sessions", 2, work_min="").put("sessions", 3, deviation=" ").write_csv(folder)


@case(
    [
        ("missing_without_reason", B, "", 2, "work_min"),
        ("missing_without_reason", B, "", 3, "work_min"),
        ("missing_without_reason", B, "", 4, "bleeding"),
    ]
)
def missing_without_a_reason(folder):
    study = Study().put("sessions", 2, work_min="n/a").put("sessions", 3, work_min="-")
    study.put("sessions", 4, bleeding="?").write_csv(folder)


@case()
def missing_with_a_reason(folder):
    Study().put("sessions", 2, work_min="NA_not_done", bleeding="NA_refused").write_csv(folder)


@case([("blank_key", B, "", 6, "client_code"), ("blank_key", B, "", 2, "session_no")])
def missing_reason_in_a_key(folder):
    study = Study().put("clients", 6, client_code="NA_lost")
    study.put("events", 2, session_no="").put("events", 2, client_code="C314")
    study.rows["events"].append(study.rows["events"][1].copy())
    study.put("events", 6, session_no="1").write_csv(folder)


@case(
    [
        ("not_in_list", B, "", 2, "wipe_material"),
        ("not_int", B, "", 3, "passes"),
        ("not_float", B, "", 4, "work_min"),
        ("not_float", B, "", 5, "work_min"),
        ("not_code", B, "", 6, "operator_code"),
        ("not_int", B, "", 7, "pain_work"),
    ]
)
def values_of_the_wrong_kind(folder):
    study = (
        Study().put("sessions", 2, wipe_material="damp_nonwovn").put("sessions", 3, passes="two")
    )
    study.put("sessions", 4, work_min="12:30").put("sessions", 5, work_min="3 h")
    study.put("sessions", 6, operator_code="my self").put("sessions", 7, pain_work="3-4")
    study.write_csv(folder)


@case(
    [
        ("outside_limits", B, "", 2, "work_min"),
        ("outside_limits", B, "", 3, "pain_work"),
        ("unusual_value", L, "", 4, "planned_length_mm"),
        ("finer_than_step", L, "", 5, "work_min"),
    ]
)
def hard_limits_usual_ranges_and_steps(folder):
    study = Study().put("sessions", 2, work_min="0").put("sessions", 3, pain_work="11")
    study.put("sessions", 4, planned_length_mm="60").put("sessions", 5, work_min="13.2")
    study.write_csv(folder)


@case([("not_int", L, "", 2, "start_hour"), ("outside_limits", L, "", 3, "tearing")])
def optional_answers_with_a_blemish(folder):
    Study().put("sessions", 2, start_hour="10:30").put("sessions", 3, tearing="9").write_csv(folder)


@case([("date_for_number", L, "sessions", 2, "start_hour")])
def optional_hour_that_the_spreadsheet_made_a_time(folder):
    Study().put("sessions", 2, start_hour=time(10, 30)).write_xlsx(folder)


@case(
    [("ambiguous_date", B, "", 2, "consent_withdrawn"), ("not_date", B, "", 3, "consent_withdrawn")]
)
def withdrawal_that_cannot_be_read(folder):
    study = Study().put("clients", 2, consent_withdrawn="01/03/2026")
    study.put("clients", 3, consent_withdrawn="in spring").write_csv(folder)


@case([("unusual_value", L, "", 2, "consent_record_date")])
def year_mistyped(folder):
    Study().put("clients", 2, consent_record_date="2006-02-23").write_csv(folder)


@case([("doubled_row", B, "", 10, "client_code, session_no, side")])
def row_entered_twice(folder):
    study = Study()
    study.rows["sessions"].append(study.rows["sessions"][3].copy())
    study.write_csv(folder)


@case([("doubled_row", B, "", 6, "client_code, session_no, event, side")])
def event_entered_twice(folder):
    study = Study()
    study.rows["events"].append(study.rows["events"][2].copy())
    study.write_csv(folder)


@case()
def one_event_on_both_eyelids_row_by_row(folder):
    study = Study()
    study.rows["events"].append(study.rows["events"][2].copy())
    study.put("events", 6, side="L", severity="moderate").write_csv(folder)


@case()
def none_seen_without_a_side(folder):
    Study().put("events", 2, side="").put("events", 4, side="NA_not_applicable").write_csv(folder)


@case([("blank", B, "", 2, "signed_by")])
def none_seen_that_nobody_signed(folder):
    Study().put("events", 2, signed_by="").write_csv(folder)


@case([("blank_key", B, "", 3, "side")])
def event_without_a_side(folder):
    Study().put("events", 3, side="NA_not_done").write_csv(folder)


@case([("row_too_long", B, "", 2, "")])
def unquoted_decimal_comma(folder):
    study = Study().put("sessions", 2, photo_after="P1,5", note="x")
    study.write_csv(folder)
    text = (folder / "sessions.csv").read_bytes().decode()
    (folder / "sessions.csv").write_bytes(text.replace('"P1,5"', "P1,5").encode())


@case([("broken_quotes", B, "", None, "")])
def quotation_mark_left_open(folder):  # RFC 4180 section 2, rule 5
    study = Study()
    study.write_csv(folder)
    with (folder / "events.csv").open("a", newline="") as file:
        file.write('"C314,2\r\n')


@case()
def lost_client_explains_her_blanks(folder):
    study = Study()
    for row in (8, 9):
        cells = study.rows["healed"][row - 1]
        study.rows["healed"][row - 1] = ["" if cell == "NA_lost" else cell for cell in cells]
    study.write_csv(folder)


# The same table from workbook and text


@case()
def clients_in_workbook_and_csv_alike(folder):
    Study().write_xlsx(folder)
    Study().write_csv(folder, only=["clients"])


@case([("files_disagree", B, "", 3, "age_band")])
def clients_in_workbook_and_csv_differ(folder):
    Study().write_xlsx(folder)
    Study().put("clients", 3, age_band="50-59").write_csv(folder, only=["clients"])


@case()
def clients_only_in_csv_beside_an_empty_sheet(folder):
    study = Study()
    study.write_csv(folder, only=["clients"])
    study.rows["clients"] = study.rows["clients"][:1]
    study.write_xlsx(folder)


@case()
def short_enrolment_csv_completed_by_the_workbook(folder):
    Study().write_xlsx(folder)
    short = Study()
    short.rows["clients"] = [[row[0], row[19]] for row in short.rows["clients"]]
    short.write_csv(folder, only=["clients"])


# Text that tells who a person is


@case(
    [
        ("identifying_text", B, "", 2, "note"),
        ("identifying_text", B, "", 3, "note"),
        ("identifying_text", L, "", 4, "note"),
    ]
)
def identifying_notes(folder):
    study = Study().put("sessions", 2, note="write to k.lind@example.org")
    study.put("sessions", 3, note="born 4.5.1979, sensitive skin")
    study.put("sessions", 4, note="Mrs Example was tense").write_csv(folder)


@case()
def ordinary_notes(folder):
    study = Study().put("sessions", 2, note="Left lid swollen on 2026-03-03, cooled 10 min")
    study.put("sessions", 3, pigment_batch="LOT 20260301-0442").write_csv(folder)


def test_an_optional_answer_blocks_once_the_plan_needs_it(tmp_path):
    Study().put("sessions", 2, tearing="9").write_csv(tmp_path)
    needed = replace(EXPECTED, tables=study_tables(required={"sessions": ["tearing"]}))

    records, report = read_and_check(tmp_path, needed)

    assert [(p.code, p.severity) for p in report.problems] == [("outside_limits", B)]
    assert records.sessions["tearing"].isna()[0]


def test_an_optional_answer_that_cannot_be_read_counts_as_not_noted(tmp_path):
    Study().put("sessions", 2, start_hour="10:30").write_csv(tmp_path)

    records, report = read_and_check(tmp_path, EXPECTED)

    assert not report.blocks
    assert "Until then it counts as not noted." in report.problems[0].remedy
    assert records.sessions["start_hour"].isna()[0]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("Damp nonwovn", "Damp nonwoven"), ("DRY NON-WOVENS", "Dry nonwoven"), ("cotton", None)],
)
def test_a_misspelt_arm_is_answered_with_the_nearest_name(typed, meant, tmp_path):
    Study().put("sessions", 2, arm_actual=typed).write_csv(tmp_path)
    tables = study_tables()
    fields = (
        replace(field, labels=tuple(EXPECTED.arms.items())) if field.arm else field
        for field in tables["sessions"].fields
    )
    tables["sessions"] = replace(tables["sessions"], fields=tuple(fields))

    _, report = read_and_check(tmp_path, replace(EXPECTED, tables=tables))

    (problem,) = report.problems
    assert (problem.code, problem.severity, problem.row) == ("not_in_list", B, 2)
    assert (f"Did you mean '{meant}'?" in problem.remedy) == bool(meant)
    assert ("Did you mean" in problem.remedy) == bool(meant)


def test_days_that_have_not_come_yet_block_the_analysis(tmp_path):
    """What is recorded has happened: common practice, no source."""
    study = Study().put("sessions", 2, session_date="2027-03-02")
    study.put("sessions", 3, session_date="2027-03-02").put("healed", 4, healed_date="2026-06-02")
    study.put("clients", 3, consent_record_date="2026-06-02")
    study.put("events", 3, onset_date="2026-06-02").write_csv(tmp_path)

    _, unaware = read_and_check(tmp_path, EXPECTED)
    _, report = read_and_check(tmp_path, replace(EXPECTED, today=date(2026, 6, 1)))
    _, next_day = read_and_check(tmp_path, replace(EXPECTED, today=date(2026, 6, 2)))

    def to_come(found):
        return {
            (p.severity, p.file, p.row, p.column) for p in found.problems if p.code == "day_to_come"
        }

    sessions = {(B, "sessions.csv", row, "session_date") for row in (2, 3)}
    assert to_come(unaware) == set()
    assert to_come(next_day) == sessions
    assert to_come(report) == sessions | {
        (B, "healed.csv", 4, "healed_date"),
        (B, "clients.csv", 3, "consent_record_date"),
        (B, "events.csv", 3, "onset_date"),
    }
    assert "This day has not come yet: 2027-03-02" in report.to_text()


def test_a_doubled_event_is_reported_and_still_read(tmp_path):
    """The second row may be the worse one; harm is never dropped."""
    study = Study()
    study.rows["events"].append(study.rows["events"][2].copy())
    study.put("events", 6, severity="severe", serious="yes").write_csv(tmp_path)

    records, report = read_and_check(tmp_path, EXPECTED)

    assert list(records.events["severity"].dropna()) == ["mild", "severe"]
    assert "Only the first" not in report.to_text()


def test_none_seen_without_a_side_is_of_the_whole_person(tmp_path):
    Study().put("events", 2, side="").write_csv(tmp_path)

    records, _ = read_and_check(tmp_path, EXPECTED)

    assert records.events["side"].iloc[0] == "general"


def test_none_seen_without_a_side_in_two_files_is_one_row(tmp_path):
    study = Study().put("events", 2, side="")
    study.write_xlsx(tmp_path)
    study.write_csv(tmp_path, only=["events"])

    records, report = read_and_check(tmp_path, EXPECTED)

    assert not report.blocks
    assert len(records.events) == len(study.rows["events"]) - 1


@pytest.mark.parametrize(
    ("table", "column", "typed"),
    [
        ("sessions", "passes", "2,5"),  # a whole number is asked for
        ("sessions", "work_min", "170,5 min"),  # beyond the limits
        ("sessions", "work_min", "88,25"),  # unusual, and finer than the step
        ("healed", "segments_kept", "7,25"),
        ("sessions", "session_date", "1 March 1926"),  # outside the usual years
    ],
)
def test_a_problem_shows_what_was_typed(tmp_path, table, column, typed):
    """She looks for her own '2,5' on the sheet; she never wrote 2.5."""
    Study().put(table, 2, **{column: typed}).write_csv(tmp_path)
    _, report = read_and_check(tmp_path, EXPECTED)
    judged = [one for one in report.problems if f"(column {column})" in one.what]

    assert judged
    for one in judged:
        assert (one.file, one.row, one.value) == (f"{table}.csv", 2, typed)
        assert one.what.startswith((typed, f"'{typed}'"))
