"""What reading and checking hand on: the report, the typed records, their fingerprint."""

import json
import subprocess
import sys
import time
from dataclasses import replace

import pytest
from tables.invented_study import EXPECTED, Study

from pmulab.tables import (
    BLOCKS,
    LOOK,
    Mend,
    Problem,
    Report,
    days_healed,
    healed_long_enough,
    read_and_check,
    session_day,
)


def problem(file="b.csv", row=2, severity=BLOCKS, value="x"):
    return Problem("blank", severity, file, "", row, "side", value, "It is empty.", "Write L.")


def test_report_sorts_counts_and_says_whether_it_blocks():
    """Entries stand by file and row; repeats once; only blocking problems block."""
    report = Report.of(
        [problem(row=9), problem(row=2), problem("a.csv"), problem(row=9)], [], ["b.csv"], []
    )

    assert [(p.file, p.row) for p in report.problems] == [("a.csv", 2), ("b.csv", 2), ("b.csv", 9)]
    assert len(report) == 3
    assert report
    assert report.blocks
    assert not Report.of([problem(severity=LOOK)], [], [], []).blocks
    assert not Report.of([], [], [], [])


def test_report_escapes_what_stands_in_a_cell():
    """A cell with markup is shown as text."""
    html = Report.of([problem(value="<script>x</script>")], [], [], [])._repr_html_()

    assert "<script>" not in html
    assert "&lt;script&gt;" in html


def test_report_groups_alike_mends():
    """Forty mends of one kind are one line with the rows."""
    mends = [Mend("a.csv", "", row, "arm_actual", "Damp", "A", "word") for row in range(2, 42)]
    report = Report.of([], mends, [], [])

    assert len(report.mends) == 40
    assert report.mends_in_words() == [
        "a.csv, arm_actual: 'Damp' read as 'A' (word),"
        " rows 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13 and 28 more"
    ]


def test_report_as_frame_and_json():
    """The rows come out as a frame and as plain JSON."""
    report = Report.of([problem(), problem(row=None)], [], ["b.csv"], [("sessions", 8)])

    assert list(report.to_frame()["row"].fillna(0)) == [0, 2]
    assert json.loads(json.dumps(report.to_dict(), allow_nan=False))["rows"] == {"sessions": 8}


def test_records_are_typed_and_say_why_values_are_missing(tmp_path):
    """Types by kind; reason codes and unreadable values become missing with their reason."""
    study = Study().put("sessions", 2, work_min="lots").put("sessions", 3, work_min="NA_not_done")
    study.write_csv(tmp_path)

    records, report = read_and_check(tmp_path, EXPECTED)

    types = records.sessions.dtypes.astype(str)
    assert types["work_min"] == "Float64"
    assert types["passes"] == "Int64"
    assert types["side"] == "string"
    assert types["session_date"] == "datetime64[s]"
    assert records.clients["eligible"].dtype == "boolean"
    assert list(records.sessions["work_min"].isna()) == [True, True] + [False] * 6
    reasons = records.missing.query("table == 'sessions' and column == 'work_min'")
    assert list(reasons["reason"]) == ["unreadable", "NA_not_done"]
    assert report.blocks
    assert records.place("sessions", 0) == ("sessions.csv", "", 2)


def test_fingerprint_depends_on_values_only(tmp_path):
    """Row order, column order, format and mends leave it; one changed value changes it."""

    def fingerprint(name, write):
        folder = tmp_path / name
        folder.mkdir()
        write(folder)
        return read_and_check(folder, EXPECTED)[0].fingerprint

    plain = fingerprint("plain", Study().write_csv)
    turned = Study()
    for table, rows in turned.rows.items():
        turned.rows[table] = [row[::-1] for row in [rows[0], *rows[:0:-1]]]
    mended = Study().put("sessions", 2, work_min="14,0 min", session_date="2 March 2026")

    assert fingerprint("turned", turned.write_xlsx) == plain
    assert fingerprint("mended", mended.write_csv) == plain
    assert fingerprint("changed", Study().put("sessions", 2, passes="3").write_csv) != plain
    assert (
        fingerprint("reason", Study().put("sessions", 2, tearing="NA_refused").write_csv) != plain
    )


def test_days_are_counted_from_the_first_session(tmp_path):
    """Healed days per eyelid; session days from the start of the study."""
    Study().put("healed", 2, healed_date="2026-03-29").write_csv(tmp_path)
    records, _ = read_and_check(tmp_path, EXPECTED)

    assert list(days_healed(records).dropna()) == [27, 42, 42, 42, 42, 42]
    assert list(healed_long_enough(records)) == [False] + [True] * 5 + [False] * 2
    assert list(session_day(records)) == [0, 0, 7, 7, 14, 14, 21, 21]


def test_one_file_alone_is_read(tmp_path):
    """A workbook or a text table may be named instead of the folder."""
    Study().write_xlsx(tmp_path)
    Study().write_csv(tmp_path, only=["sessions"])

    assert not read_and_check(tmp_path / "records.xlsx", EXPECTED)[1]
    records, _ = read_and_check(tmp_path / "sessions.csv", EXPECTED)
    assert len(records.sessions) == 8


@pytest.mark.parametrize("name", ["nothing", "nothing.csv", "nothing.xlsx"])
def test_a_missing_place_is_a_problem_not_an_error(name, tmp_path):
    """A folder or file that is not there gives one row."""
    _, report = read_and_check(tmp_path / name, EXPECTED)

    assert [p.code for p in report.problems] in (["folder_missing"], ["file_missing"])


def test_import_is_light():
    """Importing the room loads no workbook, page or statistics library."""
    code = (
        "import sys, pmulab.tables;"
        "heavy = {'pandas', 'openpyxl', 'xlsxwriter', 'jinja2', 'scipy'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert out.stdout.strip() == "[]"


def test_thousand_rows_are_checked(tmp_path, capsys):
    """A workbook of a thousand eyelids gives no false alarm; the time is printed, not asserted."""
    study = Study()
    sessions = study.rows["sessions"]
    for name in ("clients", "events"):
        rows = study.rows[name]
        rows[1:] = [[f"C{n:03d}", *rows[1][1:]] for n in range(500)]
    pair = sessions[1:3]
    sessions[1:] = [[f"C{n:03d}", *row[1:]] for n in range(500) for row in pair]
    for n in range(0, 500, 2):
        for row in (2 * n + 2, 2 * n + 3):
            arm = sessions[row - 1][study.column("sessions", "arm_actual")]
            other = {"A": "B", "B": "A"}[arm]
            study.put("sessions", row, arm_planned=other, arm_actual=other)
    study.rows["healed"] = study.rows["healed"][:1]
    study.write_xlsx(tmp_path)
    started = time.perf_counter()

    records, report = read_and_check(tmp_path, replace(EXPECTED, allocation=None))

    with capsys.disabled():
        print(f"\n1,000 eyelids checked in {time.perf_counter() - started:.2f} s")
    assert len(records.sessions) == 1000
    assert report.to_text().splitlines()[0].endswith("Mended while reading: 0.")
    assert not report.blocks
