"""The element in which points are put on a photo, by mouse, touch or keyboard."""

from importlib.resources import files

import anywidget
import traitlets

_HERE = files("pmulab.panels")


class Marking(anywidget.AnyWidget):
    """A photo with points on it; the points are the only thing that comes back.

    Traits: `photo` (bytes of a JPEG), `width` and `height` (pixels), `alt` (words for the photo),
    `marks` (lists of [x, y] named 'grey', 'scale' and 'line'), `outline` (curves that are drawn
    over it: the middle of the planned line, then its edges).
    """

    _esm = _HERE.joinpath("marking.js").read_text(encoding="utf-8")
    _css = _HERE.joinpath("marking.css").read_text(encoding="utf-8")
    photo = traitlets.Bytes(b"").tag(sync=True)
    width = traitlets.Int(1).tag(sync=True)
    height = traitlets.Int(1).tag(sync=True)
    alt = traitlets.Unicode("").tag(sync=True)
    marks = traitlets.Dict({}).tag(sync=True)
    outline = traitlets.List([]).tag(sync=True)

    def __repr__(self) -> str:
        return "Marking()"
