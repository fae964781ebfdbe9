"""Counted things, in the English of the reader."""

import pytest

from pmulab.counting import counted, were


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
