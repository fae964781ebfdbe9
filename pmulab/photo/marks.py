"""What a person marked in a photo: the grey patch, the scale, and the planned line.

Places are in pixels from the upper left corner of the photo, x to the right and y down; the middle
of the first pixel is at 0.5, 0.5. A file of marks is foreign input and is checked like one.
"""

import json
from dataclasses import asdict, dataclass
from functools import cache
from math import dist, isfinite
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, TypeAdapter, ValidationError, with_config

from pmulab.errors import UserError, line_in_json

FORMAT = 1
Style = Literal["lash_enhancement", "thin_line", "line_with_tail"]
BETWEEN_LASHES: Style = "lash_enhancement"
Skin = Literal["above", "below"]
_Place = Annotated[float, Field(ge=0, le=30_000)]
Point = tuple[_Place, _Place]
_closed = with_config(ConfigDict(extra="forbid", allow_inf_nan=False))


@_closed
@dataclass(frozen=True, slots=True)
class Scale:
    """Two marks of the millimetre scale, and how far they lie apart.

    Parameters
    ----------
    start, end : (x, y)
        Each in the middle of a mark of the scale.
    mm : float
        Distance in millimetres.
    """

    start: Point
    end: Point
    mm: Annotated[float, Field(ge=5, le=200)]

    @property
    def pixels_per_mm(self) -> float:
        """Resolution of the photo at the scale."""
        return dist(self.start, self.end) / self.mm


@_closed
@dataclass(frozen=True, slots=True)
class Line:
    """The planned line: its middle, its width, and where the bare skin of the lid lies.

    Parameters
    ----------
    points : sequence of (x, y)
        From one end to the other; a smooth curve is laid through them.
    width_mm : float
        Planned width.
    skin : {'above', 'below'}, default='above'
        'above' for an upper lid, 'below' for a lower lid; the lashes are on the other side.
    """

    points: Annotated[tuple[Point, ...], Field(min_length=2, max_length=200)]
    width_mm: Annotated[float, Field(ge=0.2, le=6)]
    skin: Skin = "above"


@_closed
@dataclass(frozen=True, slots=True)
class Marks:
    """Everything marked in one photo.

    Parameters
    ----------
    width, height : int
        Size of the photo in pixels.
    photo : str
        SHA-256 of the photo's file, so that marks are never laid on another photo.
    style : {'lash_enhancement', 'thin_line', 'line_with_tail'}
        Between-lash work is not measured from photos.
    grey : sequence of (x, y), optional
        Corners inside the grey patch, in order around it.
    grey_lightness : float, default=50
        L* of the patch as its maker gives it; 50 is what an 18 % grey card has.
    scale : Scale, optional
    line : Line, optional
    """

    width: Annotated[int, Field(ge=1, le=30_000)]
    height: Annotated[int, Field(ge=1, le=30_000)]
    photo: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    style: Style = "thin_line"
    grey: Annotated[tuple[Point, ...], Field(max_length=20)] = ()
    grey_lightness: Annotated[float, Field(ge=20, le=90)] = 50.0
    scale: Scale | None = None
    line: Line | None = None
    format: Literal[1] = 1

    def faults(self) -> tuple[str, ...]:
        """Say what in the marks cannot be, whatever the photo shows."""
        found = []
        places = [*self.grey, *(self.line.points if self.line else ())]
        places += [self.scale.start, self.scale.end] if self.scale else []
        if any(x > self.width or y > self.height for x, y in places):
            found.append("A mark lies outside the photo.")
        if self.grey and (len(self.grey) < 3 or polygon_area(self.grey) < 100):
            found.append("The grey patch needs three corners or more, and some area.")
        if self.scale and dist(self.scale.start, self.scale.end) < 50:
            found.append("The two marks of the scale lie on top of each other.")
        if self.line and min(map(dist, self.line.points, self.line.points[1:])) < 2:
            found.append("Two points of the planned line lie on top of each other.")
        return tuple(found)

    def to_json(self) -> str:
        """Write the marks as a file."""
        return json.dumps(asdict(self), allow_nan=False, indent=1) + "\n"


def polygon_area(corners: tuple[tuple[float, float], ...]) -> float:
    """Give the area inside corners, by the surveyor's formula."""
    following = (*corners[1:], corners[0])
    return abs(sum(a * d - c * b for (a, b), (c, d) in zip(corners, following, strict=True))) / 2


def marks_from_json(text: str, where: str) -> Marks:
    """Read a file of marks.

    Parameters
    ----------
    text : str
    where : str
        File name used in messages.

    Returns
    -------
    Marks

    Raises
    ------
    UserError
        If it is no file of marks, or a mark cannot be.
    """
    if len(text) > 100_000:
        raise _refused(where, "it is far too long")
    try:
        return marks_from_dict(json.loads(text, parse_constant=_no_number), where)
    except (ValueError, RecursionError) as error:
        raise _refused(f"{where}{line_in_json(error)}", "it is not JSON") from None


def marks_from_dict(data: Any, where: str) -> Marks:
    """Read marks from plain data.

    Parameters
    ----------
    data : object
    where : str

    Returns
    -------
    Marks

    Raises
    ------
    UserError
        As `marks_from_json`.
    """
    try:
        marks = _reader().validate_python(data)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(map(str, first["loc"]))
        raise _refused(where, f"{place}: {first['msg']}") from None
    faults = marks.faults()
    if faults:
        raise _refused(where, " ".join(faults))
    return marks


@cache
def _reader() -> TypeAdapter[Marks]:
    return TypeAdapter(Marks)


def _no_number(word: str) -> float:
    if not isfinite(float(word)):
        raise ValueError(word)
    return float(word)


def _refused(where: str, why: str) -> UserError:
    return UserError(
        f"The marks in {where} cannot be used: {why}.".replace("..", "."),
        "Mark the photo again; the photo itself is untouched.",
    )
