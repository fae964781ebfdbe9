"""A file name says which eyelid a photo shows, or is refused in words."""

import pytest

from pmulab.scoring import Photo, read_photo_name
from pmulab.scoring.photos import doubled
from pmulab.tables import Problem


@pytest.mark.parametrize(
    ("name", "side", "visit", "day"),
    [
        ("C042_L_1.jpg", "L", 1, ""),
        ("c042-r-2.HEIC", "R", 2, ""),
        ("C042 L 1 2026-04-12.png", "L", 1, "2026-04-12"),
        ("C042_R_12_2026-04-12.jpeg", "R", 12, "2026-04-12"),
    ],
)
def test_names_that_say_enough(name, side, visit, day):
    assert read_photo_name(name) == Photo(name, "C042", side, visit, day)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("IMG_1234.jpg", "does not say which eyelid"),
        ("Anna_L_1.jpg", "does not say which eyelid"),
        ("C042_1.jpg", "does not say which eyelid"),
        ("C042_left_1.jpg", "does not say which eyelid"),
        ("C042_L_1_copy.jpg", "does not say which eyelid"),
        ("C042_L_0.jpg", "visits count from 1"),
        ("C042_L_1_2026-02-30.jpg", "no day 2026-02-30"),
    ],
)
def test_names_that_do_not(name, told):
    problem = read_photo_name(name)

    assert isinstance(problem, Problem)
    assert told in problem.what
    assert "C042_L_1.jpg" in problem.remedy


def test_two_photos_of_one_eyelid_are_pointed_to():
    names = ("C042_L_1.jpg", "C042_L_1.png", "C042_R_1.jpg")
    found = doubled([read_photo_name(name) for name in names])

    assert [one.file for one in found] == ["C042_L_1.png"]
