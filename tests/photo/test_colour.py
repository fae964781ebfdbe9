"""Colours against the standards and the published test data."""

import numpy as np
import pytest
from photo.lamps import SRGB, under
from photo.synthetic import SKINS
from skimage.color import rgb2lab
from skimage.color.colorconv import xyz_from_rgb

from pmulab.photo.colour import (
    balance_from_grey,
    difference,
    luminance_of,
    skin_class,
    to_lab,
    to_linear,
    typology_angle,
)

# G. Sharma, W. Wu and E. N. Dalal (2005). The CIEDE2000 color-difference formula: implementation
# notes, supplementary test data, and mathematical observations. Color Research & Application
# 30:21-30, table 1: all 34 pairs, as printed.
PAIRS = """
50 2.6772 -79.7751 50 0 -82.7485 2.0425
50 3.1571 -77.2803 50 0 -82.7485 2.8615
50 2.8361 -74.0200 50 0 -82.7485 3.4412
50 -1.3802 -84.2814 50 0 -82.7485 1.0000
50 -1.1848 -84.8006 50 0 -82.7485 1.0000
50 -0.9009 -85.5211 50 0 -82.7485 1.0000
50 0 0 50 -1 2 2.3669
50 -1 2 50 0 0 2.3669
50 2.49 -0.001 50 -2.49 0.0009 7.1792
50 2.49 -0.001 50 -2.49 0.0010 7.1792
50 2.49 -0.001 50 -2.49 0.0011 7.2195
50 2.49 -0.001 50 -2.49 0.0012 7.2195
50 -0.001 2.49 50 0.0009 -2.49 4.8045
50 -0.001 2.49 50 0.0010 -2.49 4.8045
50 -0.001 2.49 50 0.0011 -2.49 4.7461
50 2.5 0 50 0 -2.5 4.3065
50 2.5 0 73 25 -18 27.1492
50 2.5 0 61 -5 29 22.8977
50 2.5 0 56 -27 -3 31.9030
50 2.5 0 58 24 15 19.4535
50 2.5 0 50 3.1736 0.5854 1.0000
50 2.5 0 50 3.2972 0 1.0000
50 2.5 0 50 1.8634 0.5757 1.0000
50 2.5 0 50 3.2592 0.3350 1.0000
60.2574 -34.0099 36.2677 60.4626 -34.1751 39.4387 1.2644
63.0109 -31.0961 -5.8663 62.8187 -29.7946 -4.0864 1.2630
61.2901 3.7196 -5.3901 61.4292 2.2480 -4.9620 1.8731
35.0831 -44.1164 3.7933 35.0232 -40.0716 1.5901 1.8645
22.7233 20.0904 -46.6940 23.0331 14.9730 -42.5619 2.0373
36.4612 47.8580 18.3852 36.2715 50.5065 21.2231 1.4146
90.8027 -2.0831 1.4410 91.1528 -1.6435 0.0447 1.4441
90.9257 -0.5406 -0.9208 88.6381 -0.8985 -0.7239 1.5381
6.7747 -0.2908 -2.4247 5.8714 -0.0985 -2.2286 0.6377
2.0776 0.0795 -1.1350 0.9033 -0.0636 -0.5514 0.9082
"""
TABLE = np.array([[float(word) for word in line.split()] for line in PAIRS.split("\n") if line])


def test_all_34_published_pairs_to_four_decimals_in_both_directions():
    one, other, printed = TABLE[:, :3], TABLE[:, 3:6], TABLE[:, 6]

    assert len(TABLE) == 34
    assert np.abs(difference(one, other) - printed).max() < 0.5e-4 + 1e-9
    # pair 14 lies on the step of the hue mean, which the last bit of an arc tangent decides
    back = np.abs(difference(other, one) - printed)
    assert np.delete(back, 13).max() < 0.5e-4 + 1e-9


# IEC 61966-2-1:1999 with CIE 15 (D65, 2 degrees), as colour calculators print it (B. Lindbloom).
@pytest.mark.parametrize(
    ("rgb", "printed"),
    [
        ((255, 0, 0), (53.24, 80.09, 67.20)),
        ((0, 255, 0), (87.73, -86.18, 83.18)),
        ((0, 0, 255), (32.30, 79.19, -107.86)),
        ((255, 255, 255), (100.00, 0.00, 0.00)),
        ((128, 128, 128), (53.59, 0.00, 0.00)),
        ((255, 255, 0), (97.14, -21.55, 94.48)),
    ],
)
def test_srgb_becomes_the_lab_of_the_standard(rgb, printed):
    found = to_lab(to_linear(np.array(rgb, dtype=np.uint8)))

    assert np.abs(found - printed).max() < 0.012


def test_every_code_agrees_with_the_library():
    codes = np.random.default_rng(1).integers(0, 256, (4000, 3), dtype=np.uint8)

    assert np.abs(to_lab(to_linear(codes)) - rgb2lab(codes)).max() < 1e-3


# IEC 61966-2-1, 5.2: linear below 0.04045, a power above; the ends are exact.
@pytest.mark.parametrize(
    ("code", "light"),
    [(0, 0.0), (10, 10 / 255 / 12.92), (11, ((11 / 255 + 0.055) / 1.055) ** 2.4), (255, 1.0)],
)
def test_the_encoding_is_undone_piece_by_piece(code, light):
    assert to_linear(np.array([code], dtype=np.uint8))[0] == pytest.approx(light, abs=1e-7)


# CIE 15: L* 50 is 18.42 % of white (the 18 % card of photographers is L* 49.5).
@pytest.mark.parametrize(
    ("lightness", "percent"), [(50, 18.42), (100, 100), (0, 0), (8, 0.8856), (49.5, 18.0)]
)
def test_lightness_stands_for_luminance(lightness, percent):
    assert 100 * luminance_of(lightness) == pytest.approx(percent, abs=0.02)


@pytest.mark.parametrize("light", [(0.3, 0.2, 0.1), (0.02, 0.5, 0.4)])
def test_balancing_makes_the_patch_neutral_and_as_light_as_it_is(light):
    patch = np.array(light)
    balanced = to_lab(balance_from_grey(patch, 50.0).apply(patch))

    assert np.abs(balanced - (50, 0, 0)).max() < 0.02


@pytest.mark.parametrize("light", [(0.0, 0.2, 0.2), (0.1, 0.1), (np.nan, 0.1, 0.1)])
def test_a_patch_without_light_is_no_patch(light):
    with pytest.raises(ValueError, match="grey patch"):
        balance_from_grey(light, 50.0)


# A. Chardon, I. Cretois and C. Hourseau (1991), Int J Cosmet Sci 13:191-208: the angle is
# arctan((L* - 50) / b*); classes above 55, 41, 28, 10 and, added later, -30 degrees.
@pytest.mark.parametrize(
    ("lab", "angle", "name"),
    [
        ((50, 10, 15), 0.0, "brown"),
        ((65, 10, 15), 45.0, "light"),
        ((76, 8, 15), 60.02, "very light"),
        ((35, 10, 15), -45.0, "dark"),
        ((60, 12, 15), 33.69, "intermediate"),
        ((55, 12, 18), 15.52, "tan"),
    ],
)
def test_skin_angles(lab, angle, name):
    assert typology_angle(lab) == pytest.approx(angle, abs=0.01)
    assert name == skin_class(typology_angle(lab))


@pytest.mark.parametrize(
    ("angle", "name"),
    [
        (55.01, "very light"), (55, "light"), (41.01, "light"), (41, "intermediate"),
        (28.01, "intermediate"), (28, "tan"), (10.01, "tan"), (10, "brown"), (-29.9, "brown"),
        (-30, "dark"), (-90, "dark"),
    ],
)  # fmt: skip
def test_the_limits_between_the_classes(angle, name):
    assert name == skin_class(angle)


# B. Lindbloom, Chromatic Adaptation: the printed Bradford matrix from A to D65 (from memory; XYZ).
PRINTED = np.array([
    [0.8446965, -0.1179225, 0.3948108],
    [-0.1366303, 1.1041226, 0.1291718],
    [0.0798489, -0.1348999, 3.1924009],
])  # fmt: skip
INCANDESCENT = np.array([1.09850, 1.0, 0.35585])  # illuminant A, CIE 15, as printed beside it


def test_a_patch_under_a_bulb_gives_the_printed_adaptation():
    to_xyz = xyz_from_rgb
    grey = 0.1842 * np.linalg.inv(to_xyz) @ INCANDESCENT
    found = to_xyz @ balance_from_grey(grey, 50.0).matrix @ np.linalg.inv(to_xyz)

    assert np.abs(found - PRINTED).max() < 0.002


@pytest.mark.parametrize("skin", SKINS.values(), ids=SKINS)
def test_cones_leave_skin_nearer_to_its_daylight_colour_than_channels(skin):
    """A warm bulb, of which the camera corrects nothing; spectra by CIE 15 and Planck."""
    cones, channels = under(skin, 2700), under(skin, 2700, SRGB)

    assert difference(np.array(cones), np.array(skin)) < 2.0
    assert difference(np.array(channels), np.array(skin)) > 3.0
