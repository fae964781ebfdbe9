"""Chart consecutive clients outside any study."""

from collections.abc import Sequence
from typing import Any

from ipywidgets import Button, Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import paragraphs
from pmulab.stations.chart import begin_practice, chart
from pmulab.wording import practice_head


class Watch(Panel):
    """Charts of one practice.

    Parameters
    ----------
    study : path-like
        A table of clients, its folder, or a finished study; shown first.
    """

    title = "Watch my practice"
    lead = (
        "Every client in the order of work, outside any study. The charts say when to look "
        "closer; they cannot say what caused a change."
    )
    button = "Show the charts"

    def buttons(self) -> Sequence[Button]:
        """Give the two buttons."""
        self._blank = self.also("Make a blank table", self.make_blank)
        return [self._button, self._blank]

    def form(self) -> Sequence[Widget]:
        """Give the line for the table."""
        self.inputs = {"place": words("Table or folder", self.study, "my-practice")}
        return [
            self.inputs["place"],
            note("A folder with practice.xlsx, the file itself, or a finished study."),
        ]

    def call(self) -> Call:
        """Chart the table."""
        return Call(chart, {"place": self._place()})

    def make_blank(self) -> Any:
        """Make a blank table, with nothing caught."""
        return self.perform(self.blank_call())

    def blank_call(self) -> Call:
        """Make a blank table in the folder."""
        return Call(begin_practice, {"folder": self._place()})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say who is on the charts, then show them with their sentences."""
        if result.value is None or not hasattr(result.value, "lines"):
            return [*result.lines, *(f"Written: {path.as_posix()}" for path in result.files)], ""
        from pmulab.figures import line_over_time, share_by_month

        pictures = [line_over_time(one) for one in result.value.lines]
        pictures += [share_by_month(one) for one in result.value.shares]
        head = list(practice_head(result.value))
        drawn = "".join(picture._repr_html_() for picture in pictures)
        return head, drawn + paragraphs(result.lines[len(head) :])

    def _place(self) -> str:
        return str(self.inputs["place"].value.strip()) or self.study
