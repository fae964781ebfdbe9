"""The schema files: valid Table Schema, linted, and read back without loss."""

import copy
import json
from importlib.resources import files

import pytest
from frictionless import Schema

from pmulab.errors import UserError
from pmulab.tables import MISSING_REASONS, TABLE_NAMES, Field, practice_tables, study_tables
from pmulab.tables.schema import lint_schema, schema_of, table_from_schema

ALL_TABLES = study_tables() | practice_tables()


def schema(name):
    text = files("pmulab.tables").joinpath(f"schemas/{name}.json").read_text(encoding="utf-8")
    return json.loads(text)


@pytest.mark.parametrize("name", ALL_TABLES)
def test_schema_is_a_valid_table_schema(name):
    """frictionless accepts each file as a Table Schema."""
    assert [field.name for field in Schema.from_descriptor(schema(name)).fields] == [
        field["name"] for field in schema(name)["fields"]
    ]


@pytest.mark.parametrize("name", ALL_TABLES)
def test_schema_is_read_and_written_without_loss(name):
    """Reading a file and writing it gives the same descriptor."""
    assert schema_of(table_from_schema(schema(name))) == schema(name)


@pytest.mark.parametrize("name", ALL_TABLES)
def test_every_field_says_what_it_is_and_why(name):
    """No field without title, hint, reason and group; hard limits enclose the usual range."""
    for field in ALL_TABLES[name].fields:
        assert field.title, field.name
        assert field.why.endswith("."), field.name
        assert field.hint, field.name
        assert field.group, field.name
        assert len(field.title) <= 45, field.name
        if field.kind in ("int", "float") and field.plausible:
            low, high = field.plausible
            assert field.minimum <= low < high, field.name
            assert field.maximum is None or high <= field.maximum, field.name


def _spoil(change):
    spoilt = copy.deepcopy(schema("sessions"))
    change(spoilt)
    return spoilt


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (lambda s: s["fields"][3]["constraints"].update(minimun=1), "unknown constraint 'minimun'"),
        (lambda s: s["fields"][3].update(units="h"), "unknown key 'units'"),
        (lambda s: s["fields"][3]["plausible"].update(max=9), "unknown bound 'max'"),
        (lambda s: s["fields"][3].update(type="whole"), "unknown type 'whole'"),
        (lambda s: s["fields"][3].update(name="side"), "name 'side' occurs twice"),
        (lambda s: s["fields"][3].update(title="Side"), "title 'Side' occurs twice"),
        (lambda s: s["primaryKey"].append("sides"), "key 'sides' is no field"),
    ],
)
def test_linter_finds_what_a_reader_of_the_standard_passes_over(change, fault):
    """A misspelt constraint or key fails instead of being ignored."""
    assert any(fault in line for line in lint_schema(_spoil(change)))
    with pytest.raises(ValueError, match=fault):
        table_from_schema(_spoil(change))


def test_study_adds_outcomes_and_needs_fields():
    """A study's own column stands last; fields its plan names become needed."""
    own = Field("redness", "Redness grade", "int", minimum=0, maximum=4, needed="always")

    tables = study_tables({"sessions": [own]}, {"sessions": ["elapsed_min"]})

    assert tables["sessions"].fields[-1] == own
    assert tables["sessions"]["elapsed_min"].needed == "always"
    assert study_tables()["sessions"]["elapsed_min"].needed == "plan"


@pytest.mark.parametrize(
    ("extra", "required"),
    [
        ({"visits": []}, {}),
        ({"sessions": [Field("side", "My side", "text")]}, {}),
        ({}, {"healed": ["work_min"]}),
    ],
)
def test_study_tables_refuse_what_does_not_fit(extra, required):
    """An unknown table or field, or a name already taken, is wrong use."""
    with pytest.raises(UserError):
        study_tables(extra, required)


def test_reason_codes_are_the_missing_values_of_the_standard():
    """Every table names the blank and the reason codes as missing values."""
    for name in TABLE_NAMES:
        assert schema(name)["missingValues"] == ["", *MISSING_REASONS]
