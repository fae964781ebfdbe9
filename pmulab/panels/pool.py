"""Put the packs of a study group together."""

from collections.abc import Sequence
from os import PathLike, fspath
from typing import Any

from ipywidgets import Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import heading, paragraphs
from pmulab.stations.pool import pool


class Pool(Panel):
    """The group's folder in, the pooled report out.

    Parameters
    ----------
    group : path-like
        The folder that the study group shares.
    as_of : str, default=''
        Day on which studies count as overdue; today if not given.
    """

    title = "Put the studies together"
    lead = (
        "Reads every pack in the group's folder, sets a strange one aside with its reason, and "
        "writes the pooled report beside them. Studies that fell silent stay in sight."
    )
    button = "Put them together"

    def __init__(self, group: str | PathLike[str], as_of: str = "") -> None:
        self._as_of = as_of
        super().__init__(fspath(group))

    def form(self) -> Sequence[Widget]:
        """Give the folder and the day."""
        self.inputs = {
            "group": words("The group's folder", self.study),
            "as_of": words("Day for what is overdue", self._as_of, "such as 2027-03-01"),
        }
        return [
            self.inputs["group"],
            self.inputs["as_of"],
            note("The day may stay empty: then it is today."),
        ]

    def call(self) -> Call:
        """Pool what lies in the folder."""
        place = self.inputs["group"].value.strip()
        day = self.inputs["as_of"].value.strip()
        return Call(pool, {"packs": place, "group": place, "as_of": day})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what came of it, and show the picture."""
        from pmulab.figures import forest

        written = [f"Written: {path.as_posix()}" for path in result.files]
        picture = forest(result.value)
        shown = heading("All studies, one under the other") + picture._repr_html_()
        aside = [f"{one.label}: {one.why}" for one in result.value.set_aside[:20]]
        rest = heading("Set aside, with the reason") + paragraphs(aside) if aside else ""
        return [*result.lines[:6], *written], shown + rest
