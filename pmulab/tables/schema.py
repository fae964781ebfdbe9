"""The tables as written in the Table Schema files beside this module.

The files in `schemas/` follow the Data Package standard's Table Schema
(https://datapackage.org/standard/table-schema/), which allows keys of one's own.  A field is
defined there and nowhere else.

Own keys of a field: `needed` (always, plan, no), `plausible` (a range to warn outside of),
`step`, `unit`, `arm` (the column holds an arm), `labels` (other words for a choice), `anchors`,
`example`, `group`, `per` (both eyelids of a visit share the value), `share` (keep, day, drop),
`hint`, `why`.  Own key of a table: `fills` (an
answer that explains the blanks of its row, such as `seen` = lost).
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from pmulab.errors import UserError
from pmulab.tables.fields import MISSING_REASONS, TABLE_NAMES, Field, Fill, Kind, Table

_STANDARD_TYPE = {
    "code": "string", "date": "date", "int": "integer", "float": "number",
    "choice": "string", "flag": "boolean", "text": "string",
}  # fmt: skip
_CONSTRAINTS = frozenset({"required", "minimum", "maximum", "enum", "pattern"})
_FIELD_KEYS = frozenset(
    {"name", "title", "type", "trueValues", "falseValues", "constraints", "missingValues"}
    | {"plausible", "step", "unit", "needed", "arm", "labels", "anchors", "example"}
    | {"group", "per", "share", "hint", "why"}
)


def schema_of(table: Table) -> dict[str, Any]:
    """Write a table as a Table Schema descriptor.

    Parameters
    ----------
    table : Table

    Returns
    -------
    dict
        Ready for JSON; `table_from_schema` reads it back.
    """
    schema: dict[str, Any] = {
        "name": table.name,
        "title": table.title,
        "description": table.description,
        "fields": [_descriptor(field, field.name in table.keys) for field in table.fields],
        "primaryKey": list(table.keys),
        "missingValues": ["", *MISSING_REASONS],
    }
    if table.fills:
        schema["fills"] = [_fill_descriptor(fill) for fill in table.fills]
    return schema


def _fill_descriptor(fill: Fill) -> dict[str, Any]:
    entry: dict[str, Any] = {"field": fill.field, "value": fill.value, "reason": fill.reason}
    return entry | ({"only": list(fill.only)} if fill.only else {})


def _descriptor(field: Field, is_key: bool) -> dict[str, Any]:
    constraints = {
        "required": True if is_key else None,
        "minimum": field.minimum,
        "maximum": field.maximum,
        "enum": list(field.choices),
        "pattern": field.pattern,
    }
    plausible = field.plausible
    entry: dict[str, Any] = {
        "name": field.name,
        "title": field.title,
        "type": _STANDARD_TYPE[field.kind],
        "trueValues": ["yes"] if field.kind == "flag" else None,
        "falseValues": ["no"] if field.kind == "flag" else None,
        "constraints": {k: v for k, v in constraints.items() if v not in (None, [])},
        "missingValues": [""] if is_key else None,
        "plausible": {"minimum": plausible[0], "maximum": plausible[1]} if plausible else None,
        "step": field.step,
        "unit": field.unit,
        "needed": field.needed,
        "arm": field.arm or None,
        "labels": dict(field.labels),
        "anchors": list(field.anchors),
        "example": field.example,
    }
    kept = {key: value for key, value in entry.items() if value not in (None, "", [], {})}
    per = {"per": "visit"} if field.per == "visit" else {}
    last = {"group": field.group, **per, "share": field.share, "hint": field.hint, "why": field.why}
    return kept | last


def _kind(entry: Mapping[str, Any]) -> Kind:
    plain: dict[str, Kind] = {
        "date": "date", "integer": "int", "number": "float", "boolean": "flag",
    }  # fmt: skip
    if entry["type"] != "string":
        return plain[entry["type"]]
    constraints = entry.get("constraints", {})
    if "enum" in constraints:
        return "choice"
    return "code" if "pattern" in constraints else "text"


def lint_schema(schema: Mapping[str, Any]) -> list[str]:
    """Faults of a schema that a reader of the standard would pass over in silence.

    Parameters
    ----------
    schema : mapping
        A Table Schema descriptor.

    Returns
    -------
    list of str
        One sentence a fault; empty when there is none.
    """
    faults: list[str] = []
    names = [entry.get("name") for entry in schema["fields"]]
    titles = [entry.get("title") for entry in schema["fields"]]
    for label, values in (("name", names), ("title", titles)):
        faults += [f"{label} {v!r} occurs twice" for v in set(values) if values.count(v) > 1]
    faults += [f"key {key!r} is no field" for key in schema["primaryKey"] if key not in names]
    for entry in schema["fields"]:
        where = entry.get("name")
        faults += [f"{where}: unknown key {key!r}" for key in set(entry) - _FIELD_KEYS]
        unknown = set(entry.get("constraints", {})) - _CONSTRAINTS
        faults += [f"{where}: unknown constraint {key!r}" for key in unknown]
        unknown = set(entry.get("plausible", {})) - {"minimum", "maximum"}
        faults += [f"{where}: unknown bound {key!r}" for key in unknown]
        if entry.get("type") not in _STANDARD_TYPE.values():
            faults.append(f"{where}: unknown type {entry.get('type')!r}")
    return sorted(faults)


def field_from_descriptor(entry: Mapping[str, Any]) -> Field:
    """Read one field of a Table Schema.

    Parameters
    ----------
    entry : mapping
        Its descriptor.

    Returns
    -------
    Field
    """
    constraints = entry.get("constraints", {})
    plausible = entry.get("plausible")
    return Field(
        name=entry["name"],
        title=entry["title"],
        kind=_kind(entry),
        minimum=constraints.get("minimum"),
        maximum=constraints.get("maximum"),
        choices=tuple(constraints.get("enum", ())),
        pattern=constraints.get("pattern"),
        plausible=(plausible["minimum"], plausible["maximum"]) if plausible else None,
        labels=tuple(entry.get("labels", {}).items()),
        anchors=tuple(entry.get("anchors", ())),
        **{
            key: entry[key]
            for key in (
                "unit",
                "needed",
                "step",
                "arm",
                "example",
                "group",
                "per",
                "share",
                "hint",
                "why",
            )
            if key in entry
        },
    )


def table_from_schema(schema: Mapping[str, Any]) -> Table:
    """Read one table from its Table Schema descriptor.

    Parameters
    ----------
    schema : mapping
        The descriptor.

    Returns
    -------
    Table

    Raises
    ------
    ValueError
        If the schema has a fault that the standard would let pass in silence.
    """
    if faults := lint_schema(schema):
        raise ValueError(f"schema {schema.get('name')!r}: " + "; ".join(faults))
    return Table(
        name=schema["name"],
        title=schema["title"],
        description=schema.get("description", ""),
        fields=tuple(field_from_descriptor(entry) for entry in schema["fields"]),
        keys=tuple(schema["primaryKey"]),
        fills=tuple(
            Fill(f["field"], f["value"], f["reason"], tuple(f.get("only", ())))
            for f in schema.get("fills", ())
        ),
    )


@cache
def _base_table(name: str) -> Table:
    text = files("pmulab.tables").joinpath(f"schemas/{name}.json").read_text(encoding="utf-8")
    return table_from_schema(json.loads(text))


def single_table(name: str) -> Table:
    """Give a table that is no part of a study's records, such as the shared differences.

    Parameters
    ----------
    name : str
        Of its schema file.

    Returns
    -------
    Table
    """
    return _base_table(name)


def study_tables(
    extra_fields: Mapping[str, Sequence[Field]] | None = None,
    required: Mapping[str, Sequence[str]] | None = None,
) -> dict[str, Table]:
    """Return the four tables, with a study's own columns and the fields its plan needs.

    Parameters
    ----------
    extra_fields : mapping of table name to fields, optional
        Outcome columns of the study's own, added at the end.
    required : mapping of table name to field names, optional
        Fields the plan needs: a blank in them becomes a problem.

    Returns
    -------
    dict of str to Table
        clients, sessions, healed, events, in this order.

    Raises
    ------
    UserError
        If a table or field does not exist, or an added field has a name already taken.
    """
    extra, needed = dict(extra_fields or {}), dict(required or {})
    for table_name in (*extra, *needed):
        if table_name not in TABLE_NAMES:
            raise UserError(
                f"There is no table '{table_name}'.", f"Use one of {', '.join(TABLE_NAMES)}."
            )
    return {
        name: _adapted(_base_table(name), tuple(extra.get(name, ())), tuple(needed.get(name, ())))
        for name in TABLE_NAMES
    }


def _adapted(table: Table, extra: tuple[Field, ...], needed: tuple[str, ...]) -> Table:
    taken = set(table.names)
    for field in extra:
        if field.name in taken:
            raise UserError(
                f"The table '{table.name}' already has a column '{field.name}'.",
                "Give the study's own column another name.",
            )
        taken.add(field.name)
    if unknown := [name for name in needed if name not in taken]:
        raise UserError(
            f"The table '{table.name}' has no column '{unknown[0]}'.",
            f"Use one of {', '.join(sorted(taken))}.",
        )
    fields = tuple(
        replace(field, needed="always") if field.name in needed else field
        for field in (*table.fields, *extra)
    )
    return replace(table, fields=fields)
