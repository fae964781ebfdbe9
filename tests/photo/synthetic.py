"""Drawn lids over the whole range of skin, light and camera, with the marks of a steady hand."""

from dataclasses import replace

import numpy as np
from photo.lamps import under

from pmulab.demo.lid import STRIP_MM, DrawnLid, places, reference_marks, truth_of
from pmulab.photo.colour import difference
from pmulab.photo.marks import Line, Marks, Scale

SKINS = {
    "very light": (73.0, 9.0, 15.0), "light": (68.0, 10.0, 16.5),
    "intermediate": (63.0, 12.0, 18.5), "tan": (57.0, 13.0, 20.0),
    "brown": (45.0, 13.0, 17.0), "dark": (35.0, 10.0, 11.0),
}  # fmt: skip
"""One colour for each class of the typology angle (values from memory, typical of each class)."""
PIGMENTS = ((22.0, 0.0, -2.0), (27.0, 4.0, 6.0), (33.0, 7.0, 10.0), (40.0, -1.0, -3.0))
UNCORRECTED = 1 / 3
"""Share of photos in which the camera leaves all of the colour of the lamp."""
HAND_PX = 0.7
LEAST_CONTRAST = 9.0


def marks_of(lid, hand=None, sha="0" * 64):
    """Give the marks of a drawing; with a random hand, each point is put a little off."""
    grey, scale = reference_marks(lid)
    line = places(lid, np.linspace(0, lid.length, max(int(lid.length / 3), 3) + 1))
    if hand is not None:
        scale, line = (
            scale + hand.normal(0, HAND_PX, scale.shape),
            line + hand.normal(0, HAND_PX, line.shape),
        )

    def points(array):
        return tuple((float(x), float(y)) for x, y in array)  # as a click gives them

    ends = points(scale)
    return Marks(
        *lid.size, sha, grey=points(grey), scale=Scale(ends[0], ends[1], STRIP_MM),
        line=Line(points(line), lid.planned),
    )  # fmt: skip


def contrast_of(lid):
    truth = truth_of(lid)
    return float(difference(np.array(truth.pigment), np.array(truth.skin)))


def any_lid(seed, **fixed):
    """Draw a lid by chance: skin, pigment, plan, gaps, spread, light, exposure, camera."""
    chance = np.random.default_rng([2026, seed])
    skin = np.array(list(SKINS.values())[seed % len(SKINS)]) + chance.normal(0, 1, 3)
    pigment = PIGMENTS[chance.integers(len(PIGMENTS))]
    if float(difference(np.array(pigment), skin)) < LEAST_CONTRAST or pigment[0] > skin[0] - 5:
        pigment = (skin[0] - chance.uniform(11, 16), 2.0, 1.0)
    length, planned = chance.uniform(22, 34), chance.uniform(0.5, 2.0)
    spread = None
    if chance.random() < 0.6:
        start = chance.uniform(0, 0.5) * length
        spread = (start, start + chance.uniform(0.2, 0.5) * length, chance.uniform(0.2, 1.2))
    fan_light = chance.uniform(0.55, 0.8)
    fan = tuple(fan_light * s + (1 - fan_light) * p for s, p in zip(skin, pigment, strict=True))
    if float(difference(np.array(fan), skin)) < 6.5:
        spread = None
    return DrawnLid(**({
        "skin": tuple(skin), "pigment": tuple(pigment), "fan": (fan[0], fan[1] - 3, fan[2] - 4),
        "length": length, "planned": planned, "width": planned * chance.uniform(0.75, 1.15),
        "gaps": _gaps(chance, length), "spread": spread, "lashes": int(chance.integers(40, 100)),
        "radius": chance.uniform(22, 60), "pixels_per_mm": chance.uniform(22, 45),
        "kelvin": 1e6 / chance.uniform(1e6 / 7500, 1e6 / 2700),
        "cast": 1.0 if chance.random() < UNCORRECTED else chance.uniform(0, 1),
        "stops": chance.uniform(-1, 1), "falloff": chance.uniform(-0.06, 0.06),
        "blur": chance.uniform(0.015, 0.045), "noise": chance.uniform(0.001, 0.008),
        "quality": int(chance.integers(70, 96)), "seed": seed,
    } | fixed))  # fmt: skip


def lit(lid):
    """Give a lid with its colours as its lamp shows them, which no balancing takes back."""
    return replace(
        lid, skin=under(lid.skin, lid.kelvin), pigment=under(lid.pigment, lid.kelvin),
        fan=under(lid.fan, lid.kelvin),
    )  # fmt: skip


def _gaps(chance, length):
    """Give up to six gaps of 0.4 to 4 mm that do not touch."""
    edges = np.sort(chance.uniform(0.5, length - 0.5, 2 * chance.integers(0, 7)))
    return tuple(
        (float(start), float(min(end, start + 4)))
        for start, end in edges.reshape(-1, 2)
        if end - start > 0.4
    )


def errors(lid, measured):
    """Give what was measured minus the truth: kept (%), width, spread (mm), and twice contrast.

    'contrast' is set against the colours as the lamp of the photo shows them, balanced exactly;
    'daylight' against those in daylight, which no grey patch can tell from under another lamp.
    """
    truth = truth_of(lid)
    return {
        "kept": measured.kept.value - truth.kept,
        "width": measured.width.value - truth.width,
        "spread": measured.spread.value - truth.spread,
        "contrast": measured.contrast.value - contrast_of(lit(lid)),
        "daylight": measured.contrast.value - contrast_of(lid),
    }


def claimed(measured):
    """Give the uncertainty that was told beside each value."""
    told = {name: getattr(measured, name).plus_minus for name in ("kept", "width", "spread")}
    both = measured.contrast.plus_minus
    return told | {"contrast": both, "daylight": both}


def allowed(lid):
    """Give the error that is still within what the kit promises for its drawings."""
    wide = max(0.05, 0.05 * lid.width)
    return {"kept": 3.0, "width": wide, "spread": 0.1, "contrast": 1.5, "daylight": 1.5}
