"""The workbook to fill in: drop-downs, ranges and messages, all from the schemas."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from io import BytesIO
from typing import Any

import pandas as pd

from pmulab.tables.expectations import Expectations
from pmulab.tables.fields import MISSING_REASONS, Field, Table
from pmulab.tables.guide import guide_rows, guide_words, needed_in_words
from pmulab.tables.headers import NEEDED_MARK
from pmulab.tables.kinds import value_text

ROWS_PREPARED = 500
_LONGEST_TITLE, _LONGEST_MESSAGE = 32, 255  # limits of the file format for input messages
_CREATED = datetime(2026, 1, 1)  # fixed, so that a workbook made again is the same

Formats = dict[str, Any]


def workbook_bytes(
    tables: Mapping[str, Table],
    expectations: Expectations,
    rows: Mapping[str, pd.DataFrame] | None = None,
) -> bytes:
    """Make the workbook of a study.

    Parameters
    ----------
    tables : mapping of table name to Table
    expectations : Expectations
        Gives the words for the arms.
    rows : mapping of table name to DataFrame, optional
        Rows already filled in; columns named as the fields, values typed or as text.

    Returns
    -------
    bytes
        An .xlsx file: a guide, one sheet a table, and a hidden sheet with the lists.
    """
    from xlsxwriter import Workbook

    buffer = BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with Workbook(buffer, options) as book:
        book.set_properties({"title": "Records of a study", "created": _CREATED})
        formats = _formats(book)
        _write_guide(book.add_worksheet("guide"), tables, formats)
        sheets = {name: book.add_worksheet(name) for name in tables}
        lists = _write_lists(book.add_worksheet("lists"), tables, expectations)
        for name, table in tables.items():
            _prepare(sheets[name], table, formats, lists)
            given = (rows or {}).get(name)
            if given is not None:
                _fill_in(sheets[name], table, given, expectations, formats)
        sheets[next(iter(tables))].activate()
    return buffer.getvalue()


def _formats(book: Any) -> Formats:
    head = {"bold": True, "text_wrap": False, "valign": "vcenter"}
    return {
        "always": book.add_format(head | {"bg_color": "#DCE6EC", "bottom": 5}),
        "plan": book.add_format(head | {"bottom": 2}),
        "no": book.add_format({"italic": True, "valign": "vcenter", "bottom": 4}),
        "text": book.add_format({"num_format": "@"}),
        "date": book.add_format({"num_format": "yyyy-mm-dd"}),
        "int": book.add_format({"num_format": "0"}),
        "float": book.add_format({"num_format": "General"}),
        "wrap": book.add_format({"text_wrap": True, "valign": "top"}),
        "title": book.add_format({"bold": True, "font_size": 14}),
    }


def _cell_format(field: Field, formats: Formats) -> Any:
    return formats.get(field.kind, formats["text"])


def list_entries(field: Field, is_key: bool, arms: Mapping[str, str]) -> tuple[str, ...]:
    """Return what a drop-down offers, empty for a field without one.

    Parameters
    ----------
    field : Field
    is_key : bool
        A key has no missing-reason codes.
    arms : mapping of arm key to label

    Returns
    -------
    tuple of str
    """
    choices = ("yes", "no") if field.kind == "flag" else field.choices
    if field.arm:
        choices = tuple(arms.get(choice, choice) for choice in choices)
    if not choices:
        return ()
    return choices if is_key else (*choices, *MISSING_REASONS)


def _write_lists(
    sheet: Any, tables: Mapping[str, Table], expectations: Expectations
) -> dict[tuple[str, str], str]:
    from xlsxwriter.utility import xl_col_to_name

    places: dict[tuple[str, str], str] = {}
    known: dict[tuple[str, ...], str] = {}
    for table in tables.values():
        for field in table.fields:
            entries = list_entries(field, field.name in table.keys, expectations.arms)
            if not entries:
                continue
            if entries not in known:
                column = xl_col_to_name(len(known))
                sheet.write_string(0, len(known), field.name)
                for row, entry in enumerate(entries, start=1):
                    sheet.write_string(row, len(known), entry)
                known[entries] = f"=lists!${column}$2:${column}${len(entries) + 1}"
            places[table.name, field.name] = known[entries]
    sheet.hide()
    return places


def input_message(field: Field) -> str:
    """Return the message beside a cell: what to write, in which unit, and what if it is missing.

    Parameters
    ----------
    field : Field

    Returns
    -------
    str
        At most 255 characters, as the file format allows.
    """
    parts = [field.hint, f"{field.allowed[0].upper()}{field.allowed[1:]}."]
    if field.kind == "choice":
        parts = [field.hint, "Choose from the list."]
    if field.needed == "always":
        parts.append("Needed.")
    message = ""
    for part in (*parts, " ".join(f"{anchor};" for anchor in field.anchors).rstrip(";")):
        longer = f"{message} {part}".strip()
        message = longer if len(longer) <= _LONGEST_MESSAGE else message
    return message


def _validation(table: Table, field: Field, column: str, source: str | None) -> dict[str, Any]:
    rule: dict[str, Any] = {
        "validate": "any",
        "input_title": field.title[:_LONGEST_TITLE],
        "input_message": input_message(field),
    }
    cell = f"{column}2"
    coded = f'LEFT({cell},3)="NA_"'
    warning = {
        "error_type": "warning",
        "error_title": field.title[:_LONGEST_TITLE],
        "error_message": f"Expected: {field.allowed}."[:_LONGEST_MESSAGE],
    }
    if source:
        return rule | warning | {"validate": "list", "source": source}
    if field.kind in ("int", "float"):
        low, high = field.minimum, field.maximum
        checks = [f"ISNUMBER({cell})"]
        checks += [f"{cell}>={low:g}"] if low is not None else []
        checks += [f"{cell}<={high:g}"] if high is not None else []
        checks += [f"{cell}=INT({cell})"] if field.kind == "int" else []
        number = f"AND({','.join(checks)})"
        formula = f"={number}" if field.name in table.keys else f"=OR({number},{coded})"
        return rule | warning | {"validate": "custom", "value": formula}
    if field.kind == "date":
        return rule | warning | {"validate": "custom", "value": f"=OR(ISNUMBER({cell}),{coded})"}
    return rule


def _prepare(
    sheet: Any, table: Table, formats: Formats, lists: Mapping[tuple[str, str], str]
) -> None:
    from xlsxwriter.utility import xl_col_to_name

    for position, field in enumerate(table.fields):
        mark = NEEDED_MARK if field.needed == "always" else ""
        sheet.write_string(0, position, field.name + mark, formats[field.needed])
        unit = f" ({field.unit})" if field.unit else ""
        note = f"{field.title}{unit}\n{needed_in_words(field)}.\n{field.why}"
        sheet.write_comment(0, position, note, {"x_scale": 2, "y_scale": 1.2})
        width = max(11, len(field.name) + 4)
        sheet.set_column(position, position, width, _cell_format(field, formats))
        rule = _validation(
            table, field, xl_col_to_name(position), lists.get((table.name, field.name))
        )
        sheet.data_validation(1, position, ROWS_PREPARED, position, rule)
    sheet.freeze_panes(1, 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _fill_in(
    sheet: Any, table: Table, rows: pd.DataFrame, expectations: Expectations, formats: Formats
) -> None:
    for position, field in enumerate(table.fields):
        if field.name not in rows:
            continue
        for number, value in enumerate(rows[field.name], start=1):
            _write_cell(sheet, (number, position), field, value, expectations.arms, formats)


def _write_cell(
    sheet: Any,
    place: tuple[int, int],
    field: Field,
    value: Any,
    arms: Mapping[str, str],
    formats: Formats,
) -> None:
    text = value if isinstance(value, str) else value_text(field, value)
    form = _cell_format(field, formats)
    if not text:
        return
    if text in MISSING_REASONS:
        sheet.write_string(*place, text, formats["text"])
    elif field.kind in ("int", "float"):
        sheet.write_number(*place, float(text), form)
    elif field.kind == "date":
        sheet.write_datetime(*place, datetime.fromisoformat(text), form)
    else:
        sheet.write_string(*place, arms.get(text, text) if field.arm else text, form)


def _write_guide(sheet: Any, tables: Mapping[str, Table], formats: Formats) -> None:
    sheet.set_column(0, 1, 22, formats["wrap"])
    sheet.set_column(2, 2, 34, formats["wrap"])
    sheet.set_column(3, 3, 14, formats["wrap"])
    sheet.set_column(4, 7, 40, formats["wrap"])
    sheet.write_string(0, 0, "How to fill in these sheets", formats["title"])
    words = guide_words(tables)
    for row, line in enumerate(words, start=1):
        sheet.merge_range(row, 0, row, 7, line, formats["wrap"])
    for row, cells in enumerate(_guide_table(tables), start=len(words) + 2):
        for column, text in enumerate(cells):
            form = formats["always"] if cells == _GUIDE_HEAD else formats["wrap"]
            sheet.write_string(row, column, text, form)


_GUIDE_HEAD = (
    "sheet", "column", "in words", "needed", "what to write", "grades", "hint", "why it is asked",
)  # fmt: skip


def _guide_table(tables: Mapping[str, Table]) -> Iterable[tuple[str, ...]]:
    yield _GUIDE_HEAD
    yield from guide_rows(tables)
