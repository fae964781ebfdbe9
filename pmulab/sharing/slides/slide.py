"""What a slide is."""

from dataclasses import dataclass
from typing import Literal

from pmulab.figures import Picture

Kind = Literal["list", "said", "alarm"]


@dataclass(frozen=True, slots=True)
class Part:
    """A block of sentences on a slide.

    Parameters
    ----------
    lines : tuple of str
    heading : str, default=''
    kind : {'list', 'said', 'alarm'}, default='list'
        Listed, said large as the one thing to remember, or framed as a warning.
    """

    lines: tuple[str, ...]
    heading: str = ""
    kind: Kind = "list"

    @property
    def dashed(self) -> bool:
        """Whether the lines hang from dashes; a line alone, or numbered ones, need none."""
        numbered = all(line[:1].isdigit() for line in self.lines)
        return self.kind != "said" and len(self.lines) > 1 and not numbered


@dataclass(frozen=True, slots=True)
class Slide:
    """One slide, without any place or size.

    Parameters
    ----------
    title : str
    rows : tuple of tuple of Part
        From top to bottom; the parts of a row stand side by side.
    notes : tuple of str
        The words to say with it.
    picture : Picture or None
        Stands above the rows.
    """

    title: str
    rows: tuple[tuple[Part, ...], ...]
    notes: tuple[str, ...]
    picture: Picture | None = None
