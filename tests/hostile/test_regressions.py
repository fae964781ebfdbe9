"""What damaged files found, each with the case that found it."""

import pytest
from time_limit import within_seconds

from hostile.attacks import ATTACKS, met
from pmulab.errors import UserError
from pmulab.packs.parts import table_part
from pmulab.plan import read_plan, read_toml
from pmulab.tables.fields import TABLE_NAMES
from pmulab.tables.headers import count_matches
from pmulab.tables.schema import base_table


def test_a_row_of_digits_with_a_strange_end_is_refused_at_once():
    """Each cell of digits could be read in two ways: with n cells, two to the power of n tries."""
    text = ",".join(["11"] * 200) + '"\n'
    with within_seconds(5), pytest.raises(UserError, match="no code, number or answer"):
        table_part({"sessions.csv": text.encode()}, "sessions", "x.zip")


@pytest.mark.parametrize("cell", ["a", "-1.5e-3", "3_round", "2026", "-0", "x" * 61])
def test_cells_that_a_pack_may_hold_are_still_read(cell):
    assert table_part({"sessions.csv": f"h\n{cell}\n".encode()}, "sessions", "x.zip")[1] == [cell]


@pytest.mark.parametrize("cell", ["-", "-a", "x" * 62, "+1", ".5", "a b"])
def test_cells_that_no_pack_holds_are_still_refused(cell):
    with pytest.raises(UserError, match="row 2"):
        table_part({"sessions.csv": f"h\n{cell}\n".encode()}, "sessions", "x.zip")


def test_a_carriage_return_inside_a_cell_of_a_pack_is_told_with_its_row():
    with pytest.raises(UserError, match="row 2"):
        table_part({"sessions.csv": b"a,b\nx\ry,1\n"}, "sessions", "x.zip")


@pytest.mark.parametrize("bracket", ["(", "["])
def test_brackets_without_end_in_a_header_are_read_at_once(bracket):
    with within_seconds(5):
        count_matches(base_table(TABLE_NAMES[0]), (bracket * 200_000,))


def test_a_header_is_still_found_with_its_unit_in_brackets():
    assert count_matches(base_table("sessions"), ("work_min (min)", "pain_work [0-10]")) == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a = 1\nb = [1,\n", "line 2: the file ends in the middle"),
        ('a = "x', "line 1"),
        (f"a = 1\nb = {'9' * 5_000}\n", "line 2: the number is far too large"),
        (f"[t]\nb = 0x{'f' * 5_000}\n", "line 2: the number is far too large"),
        ("a = 9223372036854775808", "line 1: the number is far too large"),
        ("a = 1\n" + ".".join(["b"] * 3000) + " = 1", "line 2: nested deeper than 20 levels"),
        ("a = 1\nb = " + "[" * 5_000, "line 2 is nested far too deep"),
        ("a = 1\nb = 2,5\n", "line 2 has a decimal comma"),
    ],
)
def test_toml_that_cannot_be_read_is_told_with_its_line(text, words):
    """TOML 1.0.0, Integer: 64 bits; what cannot be represented is an error."""
    with pytest.raises(UserError, match=f"x.toml, {words}"):
        read_toml(text, "x.toml", "Mend it.")


def test_the_largest_whole_number_of_toml_is_read():
    assert read_toml("a = 9223372036854775807", "x", "y") == {"a": 2**63 - 1}


def test_a_number_of_the_plan_that_json_cannot_write_is_no_crash():
    with pytest.raises(UserError, match=r"plan.toml, line 1"):
        read_plan(f"format = 0x{'f' * 4_000}")


@pytest.mark.parametrize(
    "name", ["workbook: a cell a million rows away", "workbook: merged over all cells"]
)
def test_a_workbook_that_reaches_over_all_cells_is_told_at_once(name, tmp_path):
    assert ATTACKS[name].words in met(ATTACKS[name], tmp_path)
