"""A client who has a card and never came."""

from collections.abc import Sequence
from html import escape
from typing import Any

from ipywidgets import HTML, Widget

from pmulab.allocation import Assignment, card_words
from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.inputs import CHOOSE, choice, note, words
from pmulab.panels.panel import Panel
from pmulab.plan import Plan
from pmulab.stations.absent import absent
from pmulab.stations.opening import opened


class Absent(Panel):
    """The cards that are open, and the clients among them who never came.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "A client with a card who never came"
    lead = (
        "Only if she was never worked on. She stays counted, as drawn by lot and not seen. Who "
        "missed the healed visit only is written down in the workbook instead."
    )
    button = "Write down that she never came"
    repeats = "her code and the reason"

    def form(self) -> Sequence[Widget]:
        """Give the codes of the open cards, and room for the reason."""
        study = opened(self.study)
        cards = study.assignments()
        self.offer(bool(cards))
        if not cards:
            return [note("No card is open yet.")]
        gone = {
            entry.detail.get("client_code")
            for entry in study.journal()
            if entry.event == "client never came"
        }
        codes = [one.client_code for one in cards if one.client_code not in gone]
        self.inputs = {
            "code": choice("Who", [(CHOOSE, ""), *((code, code) for code in codes)], ""),
            "why": words("Why she never came"),
        }
        return [
            HTML(_open_cards(cards, study.plan())),
            self.inputs["code"],
            self.inputs["why"],
            note("A few words, such as: moved away. No names."),
        ]

    def call(self) -> Call:
        """Write down that she never came."""
        if not self.inputs["code"].value:
            raise UserError("No client is chosen.", "Choose her code from the list.")
        given = {"client_code": self.inputs["code"].value, "reason": self.inputs["why"].value}
        return Call(absent, {"study": self.study} | given)

    def show(self, result: Any, line: str) -> None:
        """Show what was written, with an empty form."""
        self.drafts.saved(self.inputs)
        self.moved_on()
        self._renew()
        super().show(result, line)


def _open_cards(cards: Sequence[Assignment], plan: Plan) -> str:
    """List the open cards behind a label, for a look before the session."""
    labels = plan.arms.A.label, plan.arms.B.label
    rows = "".join(
        f"<tr><th scope='row'>{escape(one.client_code)}</th>"
        f"<td>{escape(card_words(one.slot, *labels))}</td></tr>"
        for one in cards
    )
    head = "<tr><th scope='col'>Client</th><th scope='col'>Her card</th></tr>"
    return (
        f"<details><summary>Cards that are open ({len(cards)})</summary>"
        f"<table><thead>{head}</thead><tbody>{rows}</tbody></table></details>"
    )
