"""Everything to fill in, made from the schemas: `python -m pmulab.tables.templates FOLDER`.

Never edit the files it writes: change the schemas and make them again.
"""

import csv
import json
import sys
from collections.abc import Iterator, Mapping
from io import StringIO
from pathlib import Path

import pandas as pd

from pmulab.tables.chairside import chairside_sheet
from pmulab.tables.example import example_frames
from pmulab.tables.expectations import Expectations
from pmulab.tables.fields import Table
from pmulab.tables.guide import field_guide
from pmulab.tables.kinds import value_text
from pmulab.tables.practice import practice_tables, practice_workbook
from pmulab.tables.schema import schema_of
from pmulab.tables.workbook import workbook_bytes


def csv_text(table: Table, rows: pd.DataFrame | None = None) -> str:
    """Return a table as CSV text: its header, and rows if there are any.

    Parameters
    ----------
    table : Table
    rows : DataFrame, optional
        Columns named as the fields; values typed or as text.

    Returns
    -------
    str
        Comma separated, CRLF line ends.

    References
    ----------
    .. [1] RFC 4180 section 2.
    """
    buffer = StringIO(newline="")
    writer = csv.writer(buffer)
    writer.writerow(table.names)
    if rows is not None:
        columns = [
            [value if isinstance(value, str) else value_text(field, value) for value in values]
            for field in table.fields
            for values in (rows[field.name] if field.name in rows else [""] * len(rows),)
        ]
        writer.writerows(zip(*columns, strict=True))
    return buffer.getvalue()


def template_files(
    tables: Mapping[str, Table], expectations: Expectations
) -> Iterator[tuple[str, bytes]]:
    """Yield the name and bytes of every template.

    Parameters
    ----------
    tables : mapping of table name to Table
    expectations : Expectations

    Yields
    ------
    tuple of (str, bytes)
    """
    practice = practice_tables()
    examples = example_frames(tables) | example_frames(practice)
    for name, table in (dict(tables) | practice).items():
        schema = json.dumps(schema_of(table), indent=2, ensure_ascii=False) + "\n"
        yield f"{name}.csv", csv_text(table).encode()
        yield f"{name}.schema.json", schema.encode()
        yield f"{name}.invented-example.csv", csv_text(table, examples[name]).encode()
    yield "records.xlsx", workbook_bytes(tables, expectations)
    yield "practice.xlsx", practice_workbook()
    yield "chairside-sheet.html", chairside_sheet(tables, expectations).encode()
    yield "field-guide.md", field_guide(dict(tables) | practice).encode()


def write_templates(folder: Path | str, expectations: Expectations | None = None) -> list[Path]:
    """Write every template into a folder, replacing the ones made before.

    Parameters
    ----------
    folder : path-like
    expectations : Expectations, optional
        A study's own tables and arms; the plain tables if left out.

    Returns
    -------
    list of Path
        The files written.
    """
    expected = expectations or Expectations()
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    written = []
    for name, content in template_files(expected.tables, expected):
        (target / name).write_bytes(content)
        written.append(target / name)
    return written


if __name__ == "__main__":
    for made in write_templates(sys.argv[1] if len(sys.argv) > 1 else "data_templates"):
        print(made)
