"""Counted things, in the English of the reader."""

import pytest

from pmulab.counting import counted, plural, singular, were


@pytest.mark.parametrize(
    ("number", "noun", "said"),
    [
        (0, "client", "0 clients"),
        (1, "client", "1 client"),
        (2, "client", "2 clients"),
        (1, "silent study", "1 silent study"),
        (3, "silent study", "3 silent studies"),
        (3, "pair of answers", "3 pairs of answers"),
        (1, "pair of answers", "1 pair of answers"),
        (1200, "row", "1,200 rows"),
    ],
)
def test_one_is_singular_and_all_else_plural(number, noun, said):
    assert counted(number, noun) == said


def test_the_verb_follows():
    assert [were(number) for number in (0, 1, 2)] == ["were", "was", "were"]


@pytest.mark.parametrize(
    ("noun", "one"),
    [
        ("segments of 10", "segment of 10"),
        ("percentage points", "percentage point"),
        ("passes", "pass"),
        ("grades", "grade"),
        ("min", "min"),
        ("s", "s"),
        ("mm", "mm"),
    ],
)
def test_a_unit_stands_in_the_singular_beside_one(noun, one):
    assert singular(noun) == one


@pytest.mark.parametrize("noun", ["client", "silent client", "pair of answers"])
def test_singular_takes_back_what_plural_did(noun):
    assert singular(plural(noun)) == noun
