"""Announce a locked plan to the study group, and later tell how it stands."""

from collections.abc import Sequence
from typing import Any

from ipywidgets import HTML, Widget

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.inputs import note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import paragraphs
from pmulab.stations.opening import opened
from pmulab.stations.register import announced, register


class Announce(Panel):
    """The group's register: what will be compared is told before the first client.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "6. Announce it to your study group"
    lead = (
        "Before the first client, so that nobody can later leave out a study whose answer was not "
        "liked. Only question, main measure, numbers and days are told. No study group? Then "
        "leave this out."
    )
    button = "Announce it"

    def form(self) -> Sequence[Widget]:
        """Ask for the group's folder once the plan is locked."""
        study = opened(self.study)
        self.offer(study.locked() is not None)
        if study.locked() is None:
            return [note("First lock the plan: an open plan can still change.")]
        told = announced(study)
        self._button.description = "Tell the group how it stands" if told else self.button
        self.inputs = {"group": words("Folder that your group shares", example="such as ../group")}
        if told:
            return [HTML(paragraphs([told])), self.inputs["group"]]
        self.inputs["due"] = words("Expected by", example="such as 2027-03-01")
        return [
            self.inputs["group"],
            self.inputs["due"],
            note("The day may stay empty: then it is worked out from the clients planned."),
        ]

    def call(self) -> Call:
        """Announce the plan, or tell how it stands."""
        given = {name: entry.value.strip() for name, entry in self.inputs.items()}
        if not given.get("group"):
            raise UserError(
                "No folder of a group is named.",
                "Name the folder that your study group shares; without a group leave this out.",
            )
        kept = {name: value for name, value in given.items() if value}
        return Call(register, {"study": self.study} | kept)

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what the group now knows."""
        return [*result.lines, *(f"Written: {path.as_posix()}" for path in result.files)], ""

    def show(self, result: Any, line: str) -> None:
        """Show what was told, with the form as it stands now."""
        self._renew()
        super().show(result, line)
