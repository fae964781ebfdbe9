"""The element in which points are put on a photo, by mouse, touch or keyboard."""

from collections.abc import Mapping
from importlib.resources import files
from typing import Any

import traitlets

from pmulab.panels.element import LISTEN, Element

_HERE = files("pmulab.panels")


class Marking(Element):
    """A photo with points on it; the points are the only thing that comes back.

    Traits: `photo` (bytes of a JPEG), `width` and `height` (pixels), `alt` (words for the photo),
    `marks` (lists of [x, y] named 'grey', 'scale' and 'line'), `outline` (curves that are drawn
    over it: the middle of the planned line, then its edges).
    """

    _esm = LISTEN + _HERE.joinpath("marking.js").read_text(encoding="utf-8")
    _css = _HERE.joinpath("marking.css").read_text(encoding="utf-8")
    photo = traitlets.Bytes(b"").tag(sync=True)
    width = traitlets.Int(1).tag(sync=True)
    height = traitlets.Int(1).tag(sync=True)
    alt = traitlets.Unicode("").tag(sync=True)
    marks = traitlets.Dict({}).tag(sync=True)
    outline = traitlets.List([]).tag(sync=True)

    points = traitlets.Dict({})
    """The marks as they are now, also those that are still on their way as `marks`."""

    def __init__(self, **traits: Any) -> None:
        super().__init__(**traits)
        self.on_msg(self._heard)

    def show(self, marks: Mapping[str, Any]) -> None:
        """Put marks on the photo.

        Parameters
        ----------
        marks : mapping
            As `marks`.
        """
        self.marks = marks
        self.points = marks

    @traitlets.observe("marks")
    def _stored(self, change: Any) -> None:
        self.points = change["new"]

    def _heard(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if isinstance(content, dict) and isinstance(content.get("marks"), dict):
            self.points = content["marks"]

    def __repr__(self) -> str:
        return "Marking()"
