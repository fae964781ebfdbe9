"""Look at what would leave the studio, then make the pack."""

from collections.abc import Sequence
from os import PathLike
from typing import Any

from ipywidgets import Button, Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import heading, paragraphs
from pmulab.stations.pack import pack


class Pack(Panel):
    """The pack for the study group: what leaves is seen first.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "The pack"
    lead = (
        "Numbers without names for your study group, whatever the finding says. Look at what "
        "would leave before you make it: no photo, no date, no word typed by hand goes with it."
    )
    button = "Make the pack"

    def __init__(self, study: str | PathLike[str]) -> None:
        self._preview = self.also("Show what leaves", self.preview)
        super().__init__(study)

    def buttons(self) -> Sequence[Button]:
        """Give the two buttons."""
        return [self._preview, self._button]

    def form(self) -> Sequence[Widget]:
        """Give the name in the group."""
        label = "What your study is called in the group"
        self.inputs = {"made_by": words(label, example="such as Studio North")}
        return [self.inputs["made_by"], note("May stay empty. No client, no address.")]

    def call(self) -> Call:
        """Make the pack."""
        return Call(pack, self._given())

    def preview(self) -> Any:
        """Only show what would leave, with nothing caught."""
        return self.perform(self.preview_call())

    def preview_call(self) -> Call:
        """Only show what would leave."""
        return Call(pack, self._given() | {"preview": True})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what was done, and list what leaves."""
        *leaving, last = result.lines
        written = [f"Written: {path.as_posix()}" for path in result.files]
        return [last, *written], heading("What leaves, and what stays") + paragraphs(leaving)

    def _given(self) -> dict[str, Any]:
        return {"study": self.study, "made_by": self.inputs["made_by"].value.strip()}
