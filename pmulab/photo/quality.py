"""Whether a photo can be measured at all: refused and said, never guessed.

The codes are those of the column `photo_quality` of the healed table.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import atan2, degrees

from pmulab.photo.curve import Curve
from pmulab.photo.marks import BETWEEN_LASHES, Line, Marks, Scale
from pmulab.photo.reference import Grey, Ruler
from pmulab.photo.strip import Strip

LEAST_PER_MM = 20.0
LEAST_ACROSS = 6.0
MOST_CLIPPED = 0.01
MOST_BLUR_MM = 0.15
MOST_FALLOFF = 0.10
MOST_MIXED = 0.06
"""The colour steps of a strongly packed JPEG alone reach 0.05 (tests/bench/photos.md)."""
MOST_TILT = 15.0
MOST_STRETCH = 0.04
MOST_UNREST = 0.25
MOST_MISCOUNT = 0.03
MOST_GLARE = 0.10
LEAST_GREY = 0.01
MOST_SKIN_THRESHOLD = 12.0
"""Colour difference from which on pigment is told; more than this, and the skin is no even skin."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a photo is not measured.

    Parameters
    ----------
    code : str
        As in `photo_quality`; 'between_lashes' for work that is never measured from a photo,
        'no_line' for a line that has to be marked first.
    what, remedy : str
    """

    code: str
    what: str
    remedy: str


def marks_refusals(marks: Marks) -> Iterator[Refusal]:
    """Refuse what lacks a reference, or must not be measured.

    Parameters
    ----------
    marks : Marks

    Yields
    ------
    Refusal
    """
    if marks.style == BETWEEN_LASHES:
        yield Refusal(
            "between_lashes",
            "Between-lash work cannot be told from lashes in a photo.",
            "Score it blind by grades instead.",
        )
    for name, there in (("grey patch", bool(marks.grey)), ("millimetre scale", bool(marks.scale))):
        if not there:
            yield Refusal(
                "no_grey_or_scale",
                f"The {name} is not marked, so there is nothing to measure by.",
                f"Mark the {name}; if it is not in the frame, take the photo again with it.",
            )
    if marks.line is None:
        yield Refusal(
            "no_line", "The planned line is not marked.", "Mark it from its inner to its outer end."
        )


def grey_refusals(grey: Grey | None) -> Iterator[Refusal]:
    """Refuse a photo for what its grey patch shows.

    Parameters
    ----------
    grey : Grey or None

    Yields
    ------
    Refusal
    """
    if grey is not None and (grey.clipped > MOST_CLIPPED or grey.light[1] < LEAST_GREY):
        yield Refusal(
            "clipped",
            "The grey patch is too dark or too bright to be read.",
            "Tap the patch to set the exposure, then take the photo again.",
        )
        return
    if grey is None or grey.unrest > MOST_UNREST:
        yield Refusal(
            "no_grey_or_scale",
            "What is marked as the grey patch is no even patch.",
            "Mark corners well inside the patch; keep fingers, print and shadow off it.",
        )
        return
    if grey.falloff > MOST_FALLOFF:
        yield Refusal(
            "uneven_light",
            f"The light changes by {100 * grey.falloff:.0f} % along the grey patch; "
            f"{100 * MOST_FALLOFF:.0f} % is the most.",
            "Use two equal lamps, left and right, and take the photo again.",
        )
    if grey.mixed > MOST_MIXED:
        yield Refusal(
            "uneven_light",
            f"The colour of the light changes by {100 * grey.mixed:.0f} % along the grey patch: "
            "two kinds of light are mixed.",
            "Close the curtain, switch other lamps and the flash off, and take the photo again.",
        )


def scale_refusals(ruler: Ruler, written: float, width: float) -> Iterator[Refusal]:
    """Refuse a photo for what its scale shows.

    Parameters
    ----------
    ruler : Ruler
    written : float
        Millimetres between the two marked places, as written.
    width : float
        Planned width of the line in millimetres.

    Yields
    ------
    Refusal
    """
    if ruler.seen_mm is None:
        yield Refusal(
            "no_grey_or_scale",
            "Between the two marked places there are no even millimetre marks.",
            "Put both points in the middle of a mark, so that the line between them crosses all.",
        )
    elif abs(ruler.seen_mm / written - 1) > MOST_MISCOUNT:
        yield Refusal(
            "no_grey_or_scale",
            f"The two marked places are {ruler.seen_mm:.1f} mm apart by the marks between them, "
            f"but {written:g} mm was written.",
            "Count again, and write the millimetres between the two points.",
        )
    if ruler.blur_mm is not None and ruler.blur_mm > MOST_BLUR_MM:
        yield Refusal(
            "blurred",
            f"The photo is blurred: edges of the scale rise over {ruler.blur_mm:.2f} mm; "
            f"{MOST_BLUR_MM:.2f} mm is the most.",
            "Rest the phone on something, set the focus on the strip, and take it again.",
        )
    if ruler.stretch > MOST_STRETCH:
        yield Refusal(
            "tilted",
            f"The millimetres change by {100 * ruler.stretch:.0f} % along the scale: it is bent, "
            "or the phone is held askew.",
            "Lay the strip flat and hold the phone parallel to it.",
        )
    needed = max(LEAST_PER_MM, LEAST_ACROSS / width)
    if ruler.pixels_per_mm < needed:
        yield Refusal(
            "too_small",
            f"One millimetre has {ruler.pixels_per_mm:.0f} pixels; "
            f"a line planned {width:g} mm wide needs {needed:.0f}.",
            "Go closer with the 2x lens, or choose a larger picture size.",
        )


def shape_refusals(line: Line, scale: Scale, curve: Curve) -> Iterator[Refusal]:
    """Refuse a line that cannot be one, or lies askew to the scale.

    Parameters
    ----------
    line : Line
    scale : Scale
    curve : Curve

    Yields
    ------
    Refusal
    """
    if curve.turns_back:
        yield Refusal(
            "no_line",
            "The planned line turns back on itself.",
            "Mark its points in order, from the inner to the outer end.",
        )
        return
    tilt = _between(line, scale)
    if tilt > MOST_TILT:
        yield Refusal(
            "tilted",
            f"Scale and line stand {tilt:.0f} degrees apart; {MOST_TILT:.0f} is the most.",
            "Lay the strip along the lid, with the phone level.",
        )


def strip_refusals(strip: Strip, width: float) -> Iterator[Refusal]:
    """Refuse a photo for what the straightened line shows.

    Parameters
    ----------
    strip : Strip
    width : float
        Planned width in millimetres.

    Yields
    ------
    Refusal
    """
    if strip.outside > 0.1:
        yield Refusal(
            "covered_or_squeezed",
            "The skin beside the line is not all in the frame.",
            "Leave at least 6 mm of bare lid beside the line in the photo.",
        )
        return
    planned = strip.band(-width / 2, width / 2)
    skin = strip.clipped[:, strip.skin_band(width)].mean()
    shine = strip.white[:, planned].mean()
    if skin <= MOST_CLIPPED and shine > MOST_GLARE:
        yield Refusal(
            "covered_or_squeezed",
            f"{100 * shine:.0f} % of the line shines white: gloss or wetness.",
            "Dry the lid, use soft light from both sides, and take the photo again.",
        )
    elif max(strip.clipped[:, planned].mean(), skin) > MOST_CLIPPED:
        yield Refusal(
            "clipped",
            "More than 1 % of line or skin has no shades left in one of its colours: too bright, "
            "too dark, or under too coloured a lamp.",
            "Set exposure and white balance on the grey patch, and take the photo again.",
        )


def skin_refusals(threshold: float) -> Iterator[Refusal]:
    """Refuse a photo in which what lies beside the line is no even skin.

    Parameters
    ----------
    threshold : float
        Colour difference from which on pigment is told.

    Yields
    ------
    Refusal
    """
    if threshold > MOST_SKIN_THRESHOLD:
        yield Refusal(
            "covered_or_squeezed",
            "What lies 2 to 5 mm beside the line is no even skin, so pigment cannot be told.",
            "Relax the eye, lift the brow if a fold lies there, keep the strip off the lid.",
        )


def _between(line: Line, scale: Scale) -> float:
    """Give the angle between the scale and the ends of the line, in degrees from 0 to 90."""

    def direction(start: tuple[float, float], end: tuple[float, float]) -> float:
        return atan2(end[1] - start[1], end[0] - start[0])

    angle = direction(scale.start, scale.end) - direction(line.points[0], line.points[-1])
    turned = abs(degrees(angle)) % 180
    return min(turned, 180 - turned)
