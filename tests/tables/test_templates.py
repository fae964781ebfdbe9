"""Templates made again are the ones kept; they read back clean and fit the file formats."""

import csv
import json
import re
from io import BytesIO
from pathlib import Path

import frictionless
import pandas as pd
import pytest
from openpyxl import load_workbook

from pmulab.tables import (
    MISSING_REASONS,
    Expectations,
    Field,
    practice_tables,
    read_and_check,
    records_from_frames,
    study_tables,
    workbook_bytes,
)
from pmulab.tables.chairside import chairside_sheet
from pmulab.tables.example import example_frames
from pmulab.tables.guide import field_guide
from pmulab.tables.templates import template_files, write_templates

TABLES = study_tables()
PLAIN = Expectations()
KEPT = Path(__file__).resolve().parents[2] / "data_templates"
ARMS = Expectations(arms={"A": "Damp nonwoven", "B": "=Dry <nonwoven>"})


def sheet_facts(content):
    """Cells, drop-downs, widths, frozen panes: what stays the same between two writes."""
    book = load_workbook(BytesIO(content))
    return {
        sheet.title: (
            [[cell.value for cell in row] for row in sheet.iter_rows()],
            [cell.comment.text if cell.comment else "" for cell in sheet[1]],
            sorted(
                (
                    str(v.sqref),
                    v.type,
                    v.formula1,
                    v.formula2,
                    v.promptTitle,
                    v.prompt,
                    v.errorStyle,
                )
                for v in sheet.data_validations.dataValidation
            ),
            {letter: dim.width for letter, dim in sheet.column_dimensions.items()},
            sheet.freeze_panes,
            sheet.sheet_state,
        )
        for sheet in book.worksheets
    }


def test_templates_made_again_are_the_ones_kept(tmp_path):
    """Nothing in data_templates was edited by hand or forgotten: text by bytes, sheets by cells."""
    written = {path.name: path.read_bytes() for path in write_templates(tmp_path)}
    kept = {path.name: path.read_bytes() for path in KEPT.iterdir() if path.name in written}

    assert set(kept) == set(written)
    for book in ("records.xlsx", "practice.xlsx"):
        assert sheet_facts(kept.pop(book)) == sheet_facts(written.pop(book))
    assert kept == written


def test_example_reads_back_clean_from_csv_and_workbook(tmp_path):
    """The invented example gives no problem, no mend, and one fingerprint in both formats."""
    frames = example_frames(TABLES)
    (tmp_path / "records.xlsx").write_bytes(workbook_bytes(TABLES, PLAIN, frames))
    from_book, report = read_and_check(tmp_path, PLAIN)
    other = tmp_path / "csv"
    other.mkdir()
    for name, content in template_files(TABLES, PLAIN):
        if name.endswith(".invented-example.csv"):
            (other / name.replace(".invented-example", "")).write_bytes(content)
    from_text, text_report = read_and_check(other, PLAIN)

    assert report.to_dict()["problems"] == text_report.to_dict()["problems"] == []
    assert report.mends == text_report.mends == ()
    assert from_book.fingerprint == from_text.fingerprint
    assert from_text.fingerprint == records_from_frames(frames, TABLES).fingerprint


def test_blank_workbook_is_clean(tmp_path):
    """The template as handed out has no problem."""
    (tmp_path / "records.xlsx").write_bytes(workbook_bytes(TABLES, PLAIN))

    records, report = read_and_check(tmp_path, PLAIN)

    assert not report
    assert [len(records[name]) for name in TABLES] == [0, 0, 0, 0]


@pytest.mark.parametrize("name", [*TABLES, *practice_tables()])
def test_example_passes_the_outside_reader(name):
    """frictionless reads the example by the schema and finds nothing."""
    report = frictionless.validate(
        frictionless.Resource(
            path=f"{name}.invented-example.csv",
            basepath=str(KEPT),
            schema=frictionless.Schema.from_descriptor(
                json.loads((KEPT / f"{name}.schema.json").read_text(encoding="utf-8"))
            ),
        )
    )

    assert report.flatten(["rowNumber", "fieldName", "type", "note"]) == []


def test_workbook_offers_lists_with_arm_labels_and_reason_codes():
    """Drop-downs come from the schema; arms by the plan's words; keys have no reason codes."""
    book = load_workbook(BytesIO(workbook_bytes(TABLES, ARMS)))
    lists, sheet = book["lists"], book["sessions"]

    def offered(name):
        column = TABLES["sessions"].names.index(name) + 1
        cell = sheet.cell(2, column).coordinate
        (rule,) = (v for v in sheet.data_validations.dataValidation if cell in v.sqref)
        area = rule.formula1.removeprefix("lists!").replace("$", "")
        return [row[0].value for row in lists[area]]

    assert offered("arm_actual") == ["Damp nonwoven", "=Dry <nonwoven>", *MISSING_REASONS]
    assert offered("side") == ["L", "R"]
    assert offered("lid") == ["upper", "lower", *MISSING_REASONS]
    assert lists.sheet_state == "hidden"


def test_workbook_has_no_live_formula_and_no_open_link():
    """A label that begins with = stays text."""
    frames = example_frames(TABLES)
    frames["sessions"].loc[0, "note"] = "=1+1"
    book = load_workbook(BytesIO(workbook_bytes(TABLES, ARMS, frames)))

    kinds = {cell.data_type for s in book for row in s.iter_rows() for cell in row}
    assert "f" not in kinds
    assert book["sessions"].cell(2, TABLES["sessions"].names.index("note") + 1).value == "=1+1"


def test_arm_labels_of_the_workbook_read_back_as_keys(tmp_path):
    """A filled workbook holds the labels that its own lists offer; nothing is mended."""
    content = workbook_bytes(TABLES, ARMS, example_frames(TABLES))
    (tmp_path / "records.xlsx").write_bytes(content)

    records, report = read_and_check(tmp_path, ARMS)

    assert not report
    assert set(records.sessions["arm_actual"]) == {"A", "B"}
    assert not report.mends


def test_input_messages_fit_the_file_format():
    """Titles up to 32 and messages up to 255 letters, each with what is allowed."""
    book = load_workbook(BytesIO(workbook_bytes(TABLES, PLAIN)))
    for name, table in TABLES.items():
        rules = book[name].data_validations.dataValidation
        assert len(rules) == len(table.fields)
        assert all(0 < len(rule.promptTitle) <= 32 for rule in rules)
        assert all(0 < len(rule.prompt) <= 255 for rule in rules)
        for field, cell in zip(table.fields, book[name][1], strict=True):
            assert cell.value.endswith(" *") == (field.needed == "always")
        assert book[name].freeze_panes == "B2"


def test_study_outcomes_reach_every_template():
    """A study's own column stands in the CSV header, workbook, guide and chairside sheet."""
    own = Field("redness", "Redness <grade>", "int", minimum=0, maximum=4, why="Own outcome.")
    tables = study_tables({"sessions": [own]})
    expected = Expectations(tables=tables, arms=ARMS.arms)
    made = dict(template_files(tables, expected))

    header = next(csv.reader(made["sessions.csv"].decode().splitlines()))
    assert header[-1] == "redness"
    assert load_workbook(BytesIO(made["records.xlsx"]))["sessions"].cell(1, len(header)).value == (
        "redness"
    )
    assert "redness" in field_guide(tables)
    page = chairside_sheet(tables, expected)
    assert "Redness &lt;grade&gt;" in page
    assert "=Dry &lt;nonwoven&gt;" in page


def test_chairside_sheet_is_self_contained_and_cautious():
    """One page without outside parts; both eyelids, the cautions, common practice marked."""
    page = chairside_sheet(TABLES, PLAIN)

    assert re.findall(r"(?:src|href)\s*=|@import|url\(", page) == []
    for words in ("LEFT", "RIGHT", "Stop and refer", "common practice", "Working minutes"):
        assert words in page
    assert page.count('class="tally') >= 2 * (40 + 60)


def test_chairside_sheet_shows_how_both_ways_are_done():
    steps = {"A": ("1. Wet <it>.", "2. Wipe."), "B": ()}
    page = chairside_sheet(TABLES, PLAIN, steps)

    assert f"How it is done: {PLAIN.arms['A']}" in page
    assert "1. Wet &lt;it&gt;." in page
    assert page.count("How it is done") == 1
    assert "or on the back" in page
    assert "or on the back" not in chairside_sheet(TABLES, PLAIN)


def test_prefilled_rows_keep_types(tmp_path):
    """Typed values (dates, Int64, booleans, NA) are written and read back the same."""
    (tmp_path / "records.xlsx").write_bytes(workbook_bytes(TABLES, PLAIN, example_frames(TABLES)))
    records, _ = read_and_check(tmp_path, PLAIN)
    seen = records.clients.copy()
    seen["consent_share_photos_date"] = "NA_not_applicable"

    again = tmp_path / "again"
    again.mkdir()
    (again / "records.xlsx").write_bytes(workbook_bytes(TABLES, PLAIN, {"clients": seen}))
    other, _ = read_and_check(again, PLAIN)

    pd.testing.assert_frame_equal(other.clients, records.clients)
