import itertools

import numpy as np
import pytest

from pmulab.figures.palette import ARM_A, ARM_B, ARM_MARKERS, BAND, MARKS, PAPER, TEXT

# Severity 1.0, linear RGB: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes (2009), A
# physiologically-based model for simulation of color vision deficiency, IEEE TVCG 15:1291-1298
# (figures from memory).
DEFICIENCIES = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(colour: str):
    """Linear RGB as WCAG 2.1 defines it under 'relative luminance'."""
    parts = np.array([int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)])
    return np.where(parts <= 0.03928, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def luminance(rgb) -> float:
    return float(np.clip(rgb, 0, 1) @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str) -> float:
    """WCAG 2.1, 'contrast ratio'."""
    low, high = sorted((luminance(linear(one)), luminance(linear(other))))
    return (high + 0.05) / (low + 0.05)


def lightness(rgb) -> float:
    """CIE 1976 L* of a colour from its luminance."""
    share = luminance(rgb)
    return 116 * share ** (1 / 3) - 16 if share > 216 / 24389 else share * 24389 / 27


def test_contrast_formula_gives_the_limits_of_wcag():
    """Black on white is 21:1, white on white 1:1."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#FFFFFF", "#FFFFFF") == pytest.approx(1)


@pytest.mark.parametrize("colour", TEXT)
def test_text_is_readable(colour):
    """Success criterion 1.4.3: 4.5:1 on paper."""
    assert contrast(colour, PAPER) >= 4.5


@pytest.mark.parametrize("colour", MARKS)
def test_marks_are_visible(colour):
    """Success criterion 1.4.11: 3:1 on paper."""
    assert contrast(colour, PAPER) >= 3


def test_what_is_drawn_on_the_band_stays_readable():
    """The band carries ink and quiet letters and the clients' dots."""
    assert all(contrast(colour, BAND) >= 4.5 for colour in TEXT[:2])


def test_arms_differ_in_lightness_for_grey_print_and_every_colour_vision():
    """At least 20 L* apart, whichever cones are missing."""
    arms = [linear(ARM_A), linear(ARM_B)]
    seen = [arms] + [[np.array(m) @ arm for arm in arms] for m in DEFICIENCIES.values()]
    for one, other in seen:
        assert abs(lightness(one) - lightness(other)) >= 20


def test_arms_differ_in_shape_too():
    """No meaning hangs on colour alone."""
    assert all(one != other for one, other in itertools.combinations(ARM_MARKERS.values(), 2))
