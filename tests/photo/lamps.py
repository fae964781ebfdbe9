"""Skin and pigment under a lamp: what balancing by a grey patch makes of a spectrum.

A lamp does more than tint: it shows more of the wavelengths that it has. So a colour is turned into
the smoothest reflectance that has it in daylight, lit by a black body, and balanced as a camera or
the kit does. What is then left between that and the colour in daylight no grey patch can tell.
"""

from functools import cache

import numpy as np

# CIE 15:2018, tables of the 2 degree observer and of illuminant D65, every 20 nm.
TABLE = np.array([
    [400, 0.0143, 0.0004, 0.0679, 82.75], [420, 0.1344, 0.0040, 0.6456, 93.43],
    [440, 0.3483, 0.0230, 1.7471, 104.86], [460, 0.2908, 0.0600, 1.6692, 117.81],
    [480, 0.0956, 0.1390, 0.8130, 115.92], [500, 0.0049, 0.3230, 0.2720, 109.35],
    [520, 0.0633, 0.7100, 0.0782, 104.79], [540, 0.2904, 0.9540, 0.0203, 104.41],
    [560, 0.5945, 0.9950, 0.0039, 100.00], [580, 0.9163, 0.8700, 0.0017, 95.79],
    [600, 1.0622, 0.6310, 0.0008, 90.01], [620, 0.8544, 0.3810, 0.0002, 87.70],
    [640, 0.4479, 0.1750, 0.0000, 83.70], [660, 0.1649, 0.0610, 0.0000, 80.21],
    [680, 0.0468, 0.0170, 0.0000, 78.28], [700, 0.0114, 0.0041, 0.0000, 71.61],
])  # fmt: skip
NM, OBSERVER, DAYLIGHT = TABLE[:, 0], TABLE[:, 1:4], TABLE[:, 4]
BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)  # ICC.1, annex E


def seen(reflectance, lamp):
    """Give XYZ of a reflectance under a lamp, white having Y = 1."""
    return OBSERVER.T @ (reflectance * lamp) / (OBSERVER[:, 1] @ lamp)


SRGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
"""IEC 61966-2-1: balancing channel by channel of sRGB, to compare with."""


WHITE = seen(np.ones(len(NM)), DAYLIGHT)


def black_body(kelvin):
    """Give the light of a black body (Planck), as far as its shape goes."""
    metres = NM * 1e-9
    return 1 / (metres**5 * (np.exp(1.4388e-2 / (metres * kelvin)) - 1))


@cache
def reflectance(lab):
    """Give the smoothest reflectance of a colour in daylight.

    S. A. Burns (2020), Color Research & Application 45:8-21: least slope of its inverse hyperbolic
    tangent, so that it stays between 0 and 1.
    """
    from scipy.optimize import minimize
    from skimage.color import lab2xyz

    # the white of skimage (D65) is scaled to that of the table, a rounding apart
    wanted = lab2xyz(np.array(lab), illuminant="D65") / lab2xyz(np.array([100.0, 0, 0]))
    wanted = wanted * WHITE
    slope = np.diff(np.eye(len(NM)), axis=0)
    found = minimize(
        lambda z: ((slope @ z) ** 2).sum(), np.zeros(len(NM)), method="SLSQP",
        jac=lambda z: 2 * slope.T @ slope @ z, options={"maxiter": 500},
        constraints={
            "type": "eq", "fun": lambda z: 100 * (seen((np.tanh(z) + 1) / 2, DAYLIGHT) - wanted),
        },
    )  # fmt: skip
    assert found.success, lab
    return (np.tanh(found.x) + 1) / 2


def under(lab, kelvin, cones=BRADFORD):
    """Give a colour as balancing shows it that was lit by a black body."""
    from skimage.color import lab2xyz, xyz2lab

    lamp = black_body(kelvin)
    gains = (cones @ WHITE) / (cones @ seen(np.ones(len(NM)), lamp))
    balanced = np.linalg.solve(cones, gains * (cones @ seen(reflectance(tuple(lab)), lamp)))
    scaled = balanced / WHITE * lab2xyz(np.array([100.0, 0, 0]), illuminant="D65")
    return tuple(float(value) for value in xyz2lab(scaled, illuminant="D65"))
