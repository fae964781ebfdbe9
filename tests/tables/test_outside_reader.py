"""The field checks against an independent reader of the same standard: frictionless.

Both read the same CSV by the same schema; they must agree on which cells are wrong.
Standard: Data Package Table Schema (types, required, minimum, maximum, enum, pattern,
missingValues, primaryKey).
"""

import csv
from datetime import date, timedelta
from io import StringIO
from random import Random

import frictionless
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pmulab.tables import MISSING_REASONS, Expectations, read_and_check, study_tables
from pmulab.tables.schema import schema_of

TABLES = study_tables()
PLAIN = Expectations()
OUTSIDE_TYPES = {"type-error", "constraint-error", "primary-key", "row-constraint"}


DIRTY = ("zz top", "-5", "1e9", "2026-13-45", "maybe", "3.5.1", "12.25", "C1", "~", "99999999")


def clean_value(field, chance):
    """Make one value the schema allows."""
    low, high = field.minimum or 0, field.maximum or 99
    makers = {
        "choice": lambda: chance.choice(field.choices),
        "flag": lambda: chance.choice(["yes", "no"]),
        "date": lambda: (date(2018, 1, 1) + timedelta(days=chance.randrange(3000))).isoformat(),
        "int": lambda: str(chance.randint(int(low), int(high))),
        "float": lambda: f"{chance.randint(int(low * 10) + 1, int(high * 10)) / 10:g}",
        "code": lambda: field.sample,
        "text": lambda: "plain words",
    }
    return makers[field.kind]()


def rows_of(table, chance):
    """One to twelve rows of different clients; each cell clean, missing, or spoilt."""
    rows = []
    for number in range(chance.randint(1, 12)):
        row = []
        for field in table.fields:
            fate = chance.randrange(20)
            if field.name == "client_code":
                row.append(f"C{number:03d}")
            elif fate == 0 and field.name not in table.keys:
                row.append(chance.choice(MISSING_REASONS))
            elif fate == 1 and field.kind != "text":
                row.append(chance.choice(DIRTY))
            else:
                row.append(clean_value(field, chance))
        rows.append(row)
    return rows


def outside_faults(path, table):
    """Return the cells that frictionless finds wrong as (row, column)."""
    resource = frictionless.Resource(
        path=path.name,
        basepath=str(path.parent),
        schema=frictionless.Schema.from_descriptor(schema_of(table)),
        dialect=frictionless.Dialect.from_descriptor({"csv": {"delimiter": ","}}),
    )
    report = resource.validate()
    assert {error.type for task in report.tasks for error in task.errors} <= OUTSIDE_TYPES
    return {tuple(entry) for entry in report.flatten(["rowNumber", "fieldName"])}


def own_faults(path, name):
    codes = ("outside_limits", "not_", "missing_without_reason", "blank_key")
    _, report = read_and_check(path, PLAIN)
    return {
        (problem.row, problem.column)
        for problem in report.problems
        if problem.code.startswith(codes)
        and problem.column in TABLES[name].names
        and problem.code not in ("not_enrolled", "not_blinded")
    }  # fmt: skip


@pytest.mark.parametrize("name", TABLES)
@settings(
    max_examples=12,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(seed=st.integers(0, 2**32))
def test_same_cells_are_wrong(name, seed, tmp_path):
    """On generated clean and dirty tables both readers point to the same cells."""
    table = TABLES[name]
    rows = rows_of(table, Random(seed))
    buffer = StringIO(newline="")
    csv.writer(buffer).writerows([table.names, *rows])
    path = tmp_path / f"{name}.csv"
    path.write_bytes(buffer.getvalue().encode())

    assert own_faults(path, name) == outside_faults(path, table)


@pytest.mark.parametrize("name", TABLES)
@settings(
    max_examples=10,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(content=st.one_of(st.binary(max_size=300), st.text(max_size=300).map(str.encode)))
def test_any_bytes_give_a_report(name, content, tmp_path):
    """Whatever a file holds, there is a report and no traceback."""
    header = ",".join(TABLES[name].names).encode()
    for suffix, head in ((".csv", b""), (".csv", header + b"\n"), (".xlsx", b"PK\x03\x04")):
        path = tmp_path / f"{name}{suffix}"
        path.write_bytes(head + content)

        records, report = read_and_check(path, PLAIN)

        assert report.to_text()
        assert len(records.fingerprint) == 64
