"""A few damaged files of every kind; the full form is `python -m tests.hostile.fuzz`."""

import pytest

from hostile.fuzz import HERE, SECONDS, table, tried
from hostile.reading import READERS, Reader, case, fault_of
from pmulab.errors import UserError

CASES = {"workbook": 8, "clients table": 10, "sessions table": 10, "events table": 10}


@pytest.mark.parametrize("kind", READERS)
def test_damaged_files_are_read_or_refused_in_words(kind, tmp_path):
    first = 1_000_000  # other cases than those of the full form
    faults = {
        number: fault
        for number in range(first, first + CASES.get(kind, 40))
        if (fault := tried(kind, number, tmp_path))
    }

    assert faults == {}


@pytest.mark.parametrize("kind", READERS)
def test_the_undamaged_file_is_read(kind, tmp_path):
    reader = READERS[kind]
    folder = tmp_path / "register" if kind == "register entry" else tmp_path
    folder.mkdir(exist_ok=True)
    for content in reader.examples():
        (folder / reader.file).write_bytes(content)
        reader.read(folder / reader.file)  # nothing is raised


def test_a_case_is_made_again_by_its_number():
    assert case("plan", 7) == case("plan", 7)
    assert case("plan", 7) != case("plan", 8)


def _refusing(what, remedy="x"):
    def read(_path):
        raise UserError(what, remedy)

    return Reader("a.toml", tuple, lambda rng, data: data, read, ("line ",))


def test_the_watch_notices_what_it_is_there_for(tmp_path):
    assert fault_of(_refusing("a.toml, line 3: no"), tmp_path) == ""
    assert "names no file" in fault_of(_refusing("line 3: no"), tmp_path)
    assert "names no place" in fault_of(_refusing("a.toml: no"), tmp_path)
    assert "no remedy" in fault_of(_refusing("a.toml, line 3", " "), tmp_path)
    broken = Reader("a", tuple, lambda rng, data: data, lambda path: {}["x"])
    assert "KeyError" in fault_of(broken, tmp_path)


def test_the_measured_table_is_of_these_kinds_and_without_faults():
    told = (HERE / "measured.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1:4] for line in told.splitlines() if line.startswith("| ")][1:]

    assert [name.strip() for name, _, _ in rows] == [*READERS, "all"]
    assert all(faults.strip() == "0" for _, _, faults in rows)
    assert int(rows[-1][1].replace(",", "")) >= 100_000
    assert f"within {SECONDS} s" in told


def test_faults_are_counted_in_the_table():
    from collections import Counter

    assert "| plan | 5 | 1 |" in table(Counter(plan=5), [("plan", 1, "x")], 0)
