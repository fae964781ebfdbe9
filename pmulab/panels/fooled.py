"""How luck fools: a series without any true difference, replayed client by client."""

from collections.abc import Sequence
from os import PathLike
from typing import TYPE_CHECKING, Any

from ipywidgets import Button, Widget

from pmulab.luck import CLIENTS, EXAMPLE
from pmulab.panels.call import Call
from pmulab.panels.inputs import note, whole_number, words
from pmulab.panels.panel import Panel
from pmulab.stations.fooled import fooled, how_often_fooled

if TYPE_CHECKING:
    from pmulab.figures import Picture


class Fooled(Panel):
    """A replay of what somebody sees who looks after every client.

    Parameters
    ----------
    study : path-like, default=''
        Not needed: no study is read.
    """

    title = "How luck fools whoever looks too often"
    lead = (
        "Twenty invented clients; way A and way B are truly the same. Play it client by client: "
        "when would you have stopped, sure that you had found something?"
    )
    button = "Next client"
    patience = 0.0

    def __init__(self, study: str | PathLike[str] = "") -> None:
        self._shown = 0
        self._more = (
            self.also(f"All {CLIENTS} clients", self._whole),
            self.also("Another series", self._another),
            self.also("How often in 1,000 series?", self._count),
        )
        super().__init__(study)

    def buttons(self) -> Sequence[Button]:
        """Give the buttons of the replay."""
        return [self._button, *self._more]

    def form(self) -> Sequence[Widget]:
        """Give the number of the series."""
        self.inputs = {"number": words("Series number", str(EXAMPLE))}
        self.inputs["number"].observe(self._from_start, "value")
        return [
            self.inputs["number"],
            note(
                f"Series {EXAMPLE} was picked because it fools. With 'Another series' you meet "
                "them as they come: about one in five fools whoever looks after every client."
            ),
        ]

    def call(self) -> Call:
        """Show one client more; after the last one begin again."""
        shown = self._shown % CLIENTS + 1
        return Call(fooled, {"number": self._number(), "shown": shown})

    def perform(self, call: Call) -> Any:
        """Replay, and remember how far it has come."""
        result = super().perform(call)
        self._shown = call.kwargs.get("shown", 0)
        return result

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what somebody would see now, with the picture."""
        if result.data.get("moments") is None:
            return result.lines, ""
        return result.lines, replayed(result)

    def _number(self) -> int:
        return whole_number(self.inputs["number"]) or 0

    def _whole(self) -> Any:
        return self.perform(Call(fooled, {"number": self._number(), "shown": CLIENTS}))

    def _another(self) -> Any:
        self.inputs["number"].value = str(self._number() + 1)
        return self.press()

    def _count(self) -> Any:
        return self.perform(Call(how_often_fooled, {"times": 1000}))

    def _from_start(self, _change: Any) -> None:
        self._shown = 0
        self.said.value = self.details.value = self.line.value = ""


def replayed(result: Any) -> str:
    """Draw a replay as far as it was told.

    Parameters
    ----------
    result : Answer of Series

    Returns
    -------
    str
        HTML.
    """
    from pmulab.figures import wandering

    drawn: Picture = wandering(result.value, result.data["shown"])
    return drawn._repr_html_()
