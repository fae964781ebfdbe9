"""Look at the handout, save it, and save the slides beside it."""

from collections.abc import Sequence
from os import PathLike
from typing import Any

from ipywidgets import HTML, Button, Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import heading, page_frame, paragraphs
from pmulab.stations.handout import handout
from pmulab.stations.preview import preview
from pmulab.stations.slides import slides

_LEAVES = (
    "Only the page that you hand on yourself; pmulab sends nothing. On it: the question, both "
    "ways, averages and intervals, adverse events, and the single values of those clients only "
    "who agreed that their numbers are shared, without code or date.",
    "It stays in the studio: names, codes, dates, photos, the workbook, the cards, the journal.",
)


class Share(Panel):
    """The handout: seen first, then saved; and the slides.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "The handout"
    lead = (
        "Two or three printable pages for the study group, whatever the finding says. Read it "
        "before you save it: no name, no address, no photo belongs on it."
    )
    button = "Save the handout"
    slow = True

    def __init__(self, study: str | PathLike[str]) -> None:
        self._preview = self.also("Show it first", self.preview)
        self._slides = self.also("Save the slides", self.save_slides)
        super().__init__(study)

    def buttons(self) -> Sequence[Button]:
        """Give the three buttons."""
        return [self._preview, self._button, self._slides]

    def form(self) -> Sequence[Widget]:
        """Give the line at the head."""
        label = "Who hands it on (at the head)"
        self.inputs = {"made_by": words(label, example="such as Studio group North")}
        return [
            self.inputs["made_by"],
            note("May stay empty. No client, no address."),
            HTML(heading("What leaves the studio") + paragraphs(_LEAVES)),
        ]

    def call(self) -> Call:
        """Save the handout."""
        return Call(handout, self._given())

    def preview(self) -> Any:
        """Show the page without saving it, with nothing caught."""
        return self.perform(self.preview_call())

    def preview_call(self) -> Call:
        """Make the page without saving it."""
        return Call(preview, self._given())

    def save_slides(self) -> Any:
        """Save the slides, with nothing caught."""
        return self.perform(self.slides_call())

    def slides_call(self) -> Call:
        """Save the slides."""
        return Call(slides, self._given())

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Show the page that was made, or say where it was saved."""
        if result.files:
            written = (f"Written: {path.as_posix()}" for path in result.files)
            return [*result.lines, *written], ""
        return result.lines, page_frame(result.value, "The handout as it would be printed")

    def show(self, result: Any, line: str) -> None:
        """Show the result; a saved handout moves the study on."""
        if result.files:
            self.moved_on()
        super().show(result, line)

    def _given(self) -> dict[str, str]:
        made_by = self.inputs["made_by"].value.strip()
        return {"study": self.study} | ({"made_by": made_by} if made_by else {})
