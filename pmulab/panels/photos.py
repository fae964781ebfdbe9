"""Take photos in, mark them, and measure them."""

from collections.abc import Mapping, Sequence
from os import PathLike
from typing import Any

from ipywidgets import HTML, FileUpload, Widget

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.inputs import choice, note, number, words
from pmulab.panels.marking import Marking
from pmulab.panels.panel import Panel
from pmulab.panels.showing import heading, paragraphs
from pmulab.photo.curve import outline
from pmulab.photo.marks import Marks
from pmulab.stations.measure import Shot, look_at_photo, measure
from pmulab.stations.opening import opened
from pmulab.stations.photos import (
    has_marks,
    mark_photo,
    marks_of,
    photo_bytes,
    photo_codes,
    take_photo,
    take_photo_bytes,
)
from pmulab.wording.photographs import PHOTO_CAUTIONS

_STYLES = (
    ("thin line", "thin_line"),
    ("line with tail", "line_with_tail"),
    ("between the lashes (never measured from a photo)", "lash_enhancement"),
)


class TakePhoto(Panel):
    """Take a photo into the study, without its metadata.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "Take a photo in"
    lead = (
        "The photo is turned upright and written anew from its pixels alone: place, time, phone "
        "and name stay behind. Your own file is only read."
    )
    button = "Take it in"

    def form(self) -> Sequence[Widget]:
        """Give the two ways to name a photo, and its code."""
        self._upload = FileUpload(
            accept=".jpg,.jpeg,.png,.heic,.heif",
            description="Choose a photo",
            tooltip="A JPEG, PNG or HEIC photo of up to 60 MB",
        )
        self._upload.observe(self._uploaded, "value")
        self.inputs = {
            "code": words("Code of the photo", example="such as healed-C101-L; may stay empty"),
            "file": words("File on this computer", example="folder/name.jpg"),
        }
        return [
            HTML(paragraphs(PHOTO_CAUTIONS)),
            self.inputs["code"],
            note(
                "The code that stands as photo_code in the healed table. No name, no date, no "
                "arm. For the second photo of the same eyelid add -again."
            ),
            self._upload,
            self.inputs["file"],
        ]

    def call(self) -> Call:
        """Take in the file that was named."""
        file = self.inputs["file"].value.strip()
        if not file:
            raise UserError("No photo is named.", "Choose a photo, or write the name of its file.")
        given = {"study": self.study, "file": file}
        code = self.inputs["code"].value.strip()
        return Call(take_photo, given | ({"code": code} if code else {}))

    def show(self, result: Any, line: str) -> None:
        """Show the code, and let the other forms know the photo."""
        self.moved_on()
        super().show(result, line)

    def _uploaded(self, change: Any) -> None:
        if change["new"]:
            self.guarded(self._take_in)

    def _take_in(self) -> None:
        chosen = self._upload.value[0]
        self._upload.value = ()  # the same file can be chosen again
        code = self.inputs["code"].value.strip()
        result = take_photo_bytes(self.study, bytes(chosen["content"]), code)
        self.show(result, f"take_photo(study={self.study!r}, file='...', code={result.value!r})")


class MarkPhoto(Panel):
    """Mark the grey patch, the scale and the planned line in one photo.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "Mark a photo"
    lead = (
        "Click or tap to put a point, and drag it. By keyboard: Tab goes from point to point, the "
        "arrow keys move a point by one pixel, with Shift by ten; Enter adds a point behind it, "
        "Delete removes it, Ctrl+Z undoes."
    )
    button = "Save the marks and measure this photo"

    def __init__(self, study: str | PathLike[str]) -> None:
        self._unsaved: dict[str, Any] = {}
        super().__init__(study)

    def form(self) -> Sequence[Widget]:
        """Give the photos, the picture to mark, and what belongs to the marks."""
        study = opened(self.study)
        codes = photo_codes(study)
        self.offer(bool(codes))
        if not codes:
            return [note("There are no photos yet: take one in with the form above.")]
        options = [(_option(code, has_marks(study, code)), code) for code in codes]
        first = next((code for code in codes if not has_marks(study, code)), codes[0])
        lid = "upper" if study.plan().study.lid == "upper" else "lower"
        self.marking = Marking()
        self.marking.observe(self._pointed, "points")
        self.inputs = {
            "code": choice("Photo", options, first),
            "scale_mm": words("Millimetres between the two marks of the scale", "40"),
            "width_mm": words("Planned width of the line (mm)", "1.0"),
            "skin": choice(
                "Bare skin lies",
                [("above the line (upper lid)", "above"), ("below the line (lower lid)", "below")],
                "above" if lid == "upper" else "below",
            ),
            "style": choice("Style", _STYLES, "thin_line"),
            "grey_lightness": words("Lightness L* of the grey patch", "50"),
        }
        self.inputs["code"].observe(self._chosen, "value")
        for name in ("scale_mm", "width_mm"):
            self.inputs[name].observe(self._drawn, "value")
        self._load(first)
        rest = [given for name, given in self.inputs.items() if name != "code"]
        return [self.inputs["code"], self.marking, *rest]

    def call(self) -> Call:
        """Save the marks."""
        given = {"study": self.study, "code": self.inputs["code"].value, "marks": self._marks()}
        return Call(mark_photo, given)

    def show(self, result: Any, line: str) -> None:
        """Show what the photo gives, and let the other forms know that it is marked."""
        self._unsaved.pop(self.inputs["code"].value, None)
        self.moved_on()
        super().show(result, line)

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what is still to mark, or show what this photo gives."""
        looked = look_at_photo(self.study, self.inputs["code"].value)
        return [*result.lines, *looked.lines], _picture(looked.value)

    def _marks(self) -> dict[str, Any]:
        """Give the marks as plain data, as far as they go."""
        points = self.marking.points
        given: dict[str, Any] = {
            "style": self.inputs["style"].value,
            "grey": points.get("grey", []),
            "grey_lightness": self._needed("grey_lightness"),
        }
        if len(points.get("scale", [])) == 2:
            start, end = points["scale"]
            given["scale"] = {"start": start, "end": end, "mm": self._needed("scale_mm")}
        if len(points.get("line", [])) > 1:
            given["line"] = {
                "points": points["line"],
                "width_mm": self._needed("width_mm"),
                "skin": self.inputs["skin"].value,
            }
        return given

    def _needed(self, name: str) -> float:
        found = number(self.inputs[name])
        if found is None:
            raise UserError(f"{self.inputs[name].description}: empty.", "Write it like 40 or 1.2.")
        return found

    def _chosen(self, change: Any) -> None:
        self.said.value = self.details.value = self.line.value = ""
        self.guarded(lambda: self._load(change["new"]))

    def _load(self, code: str) -> None:
        study = opened(self.study)
        marks = marks_of(study, code)
        self.marking.width, self.marking.height = marks.width, marks.height
        self.marking.alt = f"Photo {code}, {marks.width} by {marks.height} pixels"
        self.marking.show(self._unsaved.get(code) or _points(marks))
        self.marking.photo = photo_bytes(study, code)
        self._fill(marks)

    def _fill(self, marks: Marks) -> None:
        self.inputs["style"].value = marks.style
        self.inputs["grey_lightness"].value = f"{marks.grey_lightness:g}"
        if marks.scale:
            self.inputs["scale_mm"].value = f"{marks.scale.mm:g}"
        if marks.line:
            self.inputs["width_mm"].value = f"{marks.line.width_mm:g}"
            self.inputs["skin"].value = marks.line.skin

    def _pointed(self, change: Any) -> None:
        """Keep what is not saved yet, so that no other form can make it go away."""
        if any(change["new"].values()):
            self._unsaved[self.inputs["code"].value] = change["new"]
        self._drawn(change)

    def _drawn(self, _change: Any) -> None:
        """Draw the planned line as it will be measured."""
        points = self.marking.points
        try:
            scale, width = number(self.inputs["scale_mm"]), number(self.inputs["width_mm"])
            self.marking.outline = outline(
                points.get("line", []), points.get("scale", []), scale, width
            )
        except UserError:
            self.marking.outline = []


class MeasurePhotos(Panel):
    """Measure every marked photo of the study.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "Measure the marked photos"
    lead = (
        "What cannot be measured fairly is refused, with what to do. The values go into "
        "photos/measured.csv, and from there into the healed rows that name the photo; nothing "
        "that you typed is changed."
    )
    button = "Measure"

    def form(self) -> Sequence[Widget]:
        """Say how many photos there are."""
        study = opened(self.study)
        codes = photo_codes(study)
        marked = sum(has_marks(study, code) for code in codes)
        self.offer(bool(marked))
        return [note(f"Photos: {len(codes)}. Marked: {marked}.")]

    def call(self) -> Call:
        """Measure."""
        return Call(measure, {"study": self.study})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say every value, and show every picture."""
        shown = [heading(shot.code) + _picture(shot) for shot in result.value]
        return result.lines, "".join(shown)


def _picture(shot: Shot) -> str:
    from pmulab.figures.healed_line import healed_line

    if shot.reading.measured is None:
        return paragraphs([f"{one.what} {one.remedy}" for one in shot.reading.refusals])
    drawn: str = healed_line(shot.code, shot.reading)._repr_html_()
    return drawn


def _points(marks: Marks) -> Mapping[str, Any]:
    """Give the points of marks as lists."""
    scale = (marks.scale.start, marks.scale.end) if marks.scale else ()
    line = marks.line.points if marks.line else ()
    parts = {"grey": marks.grey, "scale": scale, "line": line}
    return {name: [list(point) for point in points] for name, points in parts.items()}


def _option(code: str, marked: bool) -> str:
    return f"{code} ({'marked' if marked else 'not marked yet'})"
