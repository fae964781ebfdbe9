"""Measure one marked photo: refuse it, or give each value with its uncertainty.

The uncertainty follows the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008):
each source is moved by one standard uncertainty, the changes of the value are added in squares,
and twice the root is told. Sources: where the points were put, the scale not quite in the plane of
the lid, the threshold for pigment, the level at which an edge lies, the lightness of the grey
patch, what balancing leaves of the colour of the light, and the unevenness of the line itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from math import hypot, sqrt

from pmulab.photo import quality
from pmulab.photo.colour import SkinClass, balance_from_grey, skin_class
from pmulab.photo.curve import planned_curve
from pmulab.photo.marks import Line, Marks, Scale
from pmulab.photo.pigment import Lid, beside_skin
from pmulab.photo.quality import Refusal
from pmulab.photo.reading import Pixels
from pmulab.photo.reference import Grey, read_grey, read_ruler
from pmulab.photo.strip import STEP_MM, Strip, straighten
from pmulab.photo.values import numbers

POINT_PX = 1.0
"""How well a point is put, one standard uncertainty in pixels."""
PLANE = 0.01
"""How well the scale lies in the plane of the lid: 3 mm off at 300 mm is 1 per cent."""
THRESHOLD = 0.15
LEVEL = 0.08
GREY_LIGHTNESS = 1.0
LIGHT = 0.9
"""What the spectrum of a lamp leaves after balancing, in CIEDE2000 (tests/bench/photos.md)."""
COVERAGE = 2.0


@dataclass(frozen=True, slots=True)
class Value:
    """One measured value.

    Parameters
    ----------
    value : float
    plus_minus : float
        Expanded uncertainty: about 95 of 100 such ranges hold the true value.
    unit : str
    """

    value: float
    plus_minus: float
    unit: str

    def __str__(self) -> str:
        digits = 0 if self.unit in ("%", "degrees") else 2 if self.unit == "mm" else 1
        return f"{self.value:.{digits}f} ± {self.plus_minus:.{digits}f} {self.unit}"


@dataclass(frozen=True, slots=True)
class Measured:
    """What one photo shows of the healed line.

    Parameters
    ----------
    kept : Value
        Per cent of the planned area that holds pigment.
    segments_kept : int
        Of ten equal parts of the line, those with pigment on half their area or more.
    width : Value or None
        Millimetres: median width where the line is kept; None when nothing is.
    spread : Value
        Millimetres beyond the planned edge, toward the bare skin, that 95 % of the line stays
        within.
    contrast : Value or None
        CIEDE2000 between the line, where it is kept, and the bare skin beside it.
    segment_contrasts : sequence of float
        The same for each of ten parts of the planned area, kept or not.
    skin_angle : Value
        Individual typology angle of the bare skin beside the line, in degrees.
    skin : str
        Its class.
    length_mm, pixels_per_mm, threshold : float
        Length of the planned line; resolution; colour difference from which on there is pigment.
    note : str
        Why a value is None; '' when none is.
    """

    kept: Value
    segments_kept: int
    width: Value | None
    spread: Value
    contrast: Value | None
    segment_contrasts: tuple[float, ...]
    skin_angle: Value
    skin: SkinClass
    length_mm: float
    pixels_per_mm: float
    threshold: float
    note: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """A photo as far as it could be read.

    Parameters
    ----------
    refusals : sequence of Refusal
        Empty when it was measured.
    measured : Measured or None
    lid : Lid or None
        The straightened lid that was measured, for the picture.
    """

    refusals: tuple[Refusal, ...]
    measured: Measured | None = None
    lid: Lid | None = None


@dataclass(frozen=True, slots=True)
class _Prepared:
    """Everything that measuring needs, once nothing was refused."""

    grey: Grey
    lightness: float
    scale: Scale
    line: Line
    strip: Strip

    def lid(self, lightness: float = 0.0) -> Lid:
        balance = balance_from_grey(self.grey.light, self.lightness + lightness)
        return beside_skin(self.strip, balance, self.line.width_mm)


def measure(pixels: Pixels, marks: Marks) -> Reading:
    """Measure the healed line in a marked photo.

    Parameters
    ----------
    pixels : ndarray of shape (height, width, 3), uint8
        From `read_photo`.
    marks : Marks

    Returns
    -------
    Reading
        Either all refusals that apply, or the values. Values of one client under one light may be
        compared; nothing else.

    Raises
    ------
    ValueError
        If the marks belong to a photo of another size.
    """
    if pixels.shape != (marks.height, marks.width, 3):
        raise ValueError(f"marks are for {marks.width} x {marks.height}, got {pixels.shape}")
    prepared = _prepare(pixels, marks)
    if not isinstance(prepared, _Prepared):
        return Reading(prepared)
    lid = prepared.lid()
    refused = tuple(quality.skin_refusals(lid.threshold))
    if refused:
        return Reading(refused)
    return Reading((), _measured(prepared, lid), lid)


def _prepare(pixels: Pixels, marks: Marks) -> _Prepared | tuple[Refusal, ...]:
    refused = tuple(quality.marks_refusals(marks))
    if refused or marks.scale is None or marks.line is None:
        return refused
    scale, line = marks.scale, marks.line
    grey, ruler = read_grey(pixels, marks.grey), read_ruler(pixels, scale)
    curve = planned_curve(line, scale.pixels_per_mm, STEP_MM)
    refused = tuple(
        chain(
            quality.grey_refusals(grey),
            quality.scale_refusals(ruler, scale.mm, line.width_mm),
            quality.shape_refusals(line, scale, curve),
        )
    )
    if refused or grey is None:
        return refused
    strip = straighten(pixels, curve, scale.pixels_per_mm, line.width_mm)
    refused = tuple(quality.strip_refusals(strip, line.width_mm))
    return refused or _Prepared(grey, marks.grey_lightness, scale, line, strip)


def _measured(prepared: _Prepared, lid: Lid) -> Measured:
    here = numbers(lid)
    moved = [numbers(other) for other in _moved(prepared, lid)]

    def told(name: str, unit: str, own: float = 0.0) -> Value:
        value: float = getattr(here, name)
        others = [getattr(other, name) for other in moved]
        changes = [other - value for other in others if other is not None]
        return Value(value, COVERAGE * sqrt(sum(c**2 for c in changes) + own**2), unit)

    seen, coloured = here.width is not None, here.contrast is not None

    return Measured(
        kept=told("kept", "%"),
        segments_kept=sum(part >= 0.5 for part in here.segments),
        width=told("width", "mm", here.width_error) if seen else None,
        spread=told("spread", "mm", STEP_MM / 2),
        contrast=told("contrast", "dE00", hypot(here.contrast_error, LIGHT)) if coloured else None,
        segment_contrasts=here.contrasts,
        skin_angle=told("angle", "degrees"),
        skin=skin_class(here.angle),
        length_mm=len(lid.light) * lid.step,
        pixels_per_mm=prepared.scale.pixels_per_mm,
        threshold=lid.threshold,
        note="" if seen else "No pigment can be told from the skin.",
    )


def _moved(prepared: _Prepared, lid: Lid) -> Iterator[Lid]:
    """Give the lid with one source of error moved by one standard uncertainty."""
    scale = prepared.scale
    point = POINT_PX / scale.pixels_per_mm
    yield lid.scaled(1 + hypot(sqrt(2) * point / scale.mm, PLANE))
    yield lid.moved(across=point)
    yield lid.moved(threshold=1 + THRESHOLD)
    yield lid.moved(level=lid.level + LEVEL)
    yield prepared.lid(GREY_LIGHTNESS)
