"""How many telling notes the finder of identifying text finds, and how many ordinary ones it takes
for telling: on labelled lines, of which a part was written first and held out of the tuning."""

import pytest
from time_limit import within_seconds

from pmulab.tables import find_identifiers
from privacy.labelled import HARMLESS, lines_of, measured

HELD_OUT, TUNING = lines_of("held_out"), lines_of("tuning")
KINDS = ("name", "e-mail address", "phone number", "birth date", "postcode")


def test_the_set_is_large_and_mostly_harmless():
    both = [*HELD_OUT, *TUNING]
    harmless = [text for kind, text in both if kind == HARMLESS]

    assert len(both) >= 200
    assert len(harmless) * 2 >= len(both)
    assert len({text for _, text in both}) == len(both)
    assert {kind for kind, _ in HELD_OUT} > set(KINDS)


@pytest.mark.parametrize("part", ["held_out", "tuning"])
def test_telling_lines_are_found_and_ordinary_ones_are_not(part, capsys):
    found = measured(lines_of(part), find_identifiers)
    with capsys.disabled():
        print(f"\n{part}: {found}")

    assert found.recall >= 0.95, found.missed
    assert found.precision >= 0.90, found.false_alarms


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_found_in_both_parts(kind, capsys):
    own = [line for line in (*HELD_OUT, *TUNING) if line[0] == kind]
    found = measured(own, find_identifiers)
    with capsys.disabled():
        print(f"\n{kind}: {len(found.found)} of {len(own)}")

    assert found.recall >= 0.95, found.missed


def test_the_measure_counts_as_it_says():
    lines = [("name", "a"), ("name", "b"), (HARMLESS, "c"), (HARMLESS, "d")]
    found = measured(lines, lambda text: ["name"] if text in "ac" else [])

    assert (found.recall, found.precision) == (0.5, 0.5)
    assert (found.missed, found.false_alarms) == (("b",), ("c",))


@pytest.mark.parametrize(
    "piece",
    ["x", "1 ", "a.b-", "A", "Aa-", "Aa ", "0 ", "+", "no ", "lot ", "born ", "1/", "12 Aa ", "@a.",
     "a@", "Aa'", "'s ", "0-", "(0", "Via A ", "1 a", "call on at ", "Mrs ", "name: ", "née le "],
)  # fmt: skip
def test_a_long_cell_takes_no_longer_than_its_length(piece):
    """32,767 letters is the most that a cell of a workbook holds (Excel specifications)."""
    text = piece * (32_767 // len(piece))
    with within_seconds(5):
        find_identifiers(text)
