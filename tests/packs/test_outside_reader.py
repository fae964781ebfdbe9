"""A reader of the Data Package standard that knows nothing of us opens a pack."""

import packs_builder as build
import pytest
from frictionless import Package, validate

from pmulab.tables.schema import study_tables


@pytest.fixture(params=["Orvane", "Lantry"])
def folder(request, tmp_path, monkeypatch):
    for name, data in build.parts_of(build.packed(request.param)).items():
        (tmp_path / name).write_bytes(data)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_frictionless_finds_a_valid_package(folder):
    report = validate("datapackage.json")

    assert report.valid, report.flatten(["type", "note"])
    assert {task.name for task in report.tasks} >= {"differences", "clients", "sessions", "healed"}


def test_frictionless_reads_the_differences_as_numbers(folder):
    package = Package("datapackage.json")
    rows = package.get_resource("differences").read_rows()

    complete = [row for row in rows if row["difference"] is not None]
    assert complete
    for row in complete:
        assert float(row["value_a"]) - float(row["value_b"]) == pytest.approx(
            float(row["difference"])
        )
        assert row["a_first"] in (True, False)


def test_a_zip_is_read_as_it_is(tmp_path, monkeypatch):
    (tmp_path / "pack.zip").write_bytes(build.packed())
    monkeypatch.chdir(tmp_path)

    assert Package("pack.zip").resource_names[0] == "plan"


def test_fields_are_those_of_the_tables_unit_for_unit(folder):
    """No field of the tables is described a second way."""
    tables = study_tables()
    package = Package("datapackage.json")
    for name in ("clients", "sessions", "healed"):
        known = {field.name: field for field in tables[name].fields}
        for field in package.get_resource(name).schema.fields:
            if field.name in known:
                assert field.title == known[field.name].title
                assert field.custom.get("unit", "") == known[field.name].unit
                assert tuple(field.constraints.get("enum", ())) == known[field.name].choices
