"""Enrol one client and open her card."""

from collections.abc import Sequence
from html import escape
from typing import Any

from ipywidgets import HTML, Box, VBox, Widget

from pmulab.allocation import Assignment, Side
from pmulab.panels.call import Call
from pmulab.panels.inputs import field_input, field_text, note
from pmulab.panels.panel import Panel
from pmulab.panels.showing import heading, paragraphs
from pmulab.plan import Plan
from pmulab.stations.enrol import WORKED_OUT, enrol
from pmulab.stations.opening import opened
from pmulab.tables.fields import Field

_SIDES = {"L": "LEFT", "R": "RIGHT"}


class Enrol(Panel):
    """Eligibility and consent of one client, then her card.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "Ask one client, then open her card"
    lead = (
        "Ask every question before you open a card. Whoever must not be treated is not enrolled, "
        "and the study never overrides that. 'unsure' counts as a reason to wait."
    )
    button = "Save her answers and open her card"

    def form(self) -> Sequence[Widget]:
        """Give an input for each question, by subject."""
        study = opened(self.study)
        locked = study.locked() is not None
        self.offer(locked)
        if not locked:
            return [note("The plan is not locked yet: lock it in notebook 01, then come back.")]
        fields = [
            field
            for field in study.plan().tables()["clients"].fields
            if field.name not in (*WORKED_OUT, "consent_withdrawn")
        ]
        needed = [field for field in fields if field.needed != "no"]
        optional = [field for field in fields if field.needed == "no"]
        parts: list[Widget] = []
        for group in dict.fromkeys(field.group for field in needed):
            members = [field for field in needed if field.group == group]
            parts += [HTML(heading(group.capitalize())), self._group(members)]
        return [*parts, HTML(heading("If you know it")), self._group(optional)]

    def _group(self, fields: Sequence[Field]) -> Box:
        cells = []
        for field in fields:
            self.inputs[field.name] = field_input(field)
            cells.append(VBox([self.inputs[field.name], note(*_told(field))]))
        grid = Box(cells)
        grid.add_class("pmulab-fields")
        return grid

    def call(self) -> Call:
        """Enrol the client with the answers that were given."""
        texts = {name: field_text(given) for name, given in self.inputs.items()}
        code = texts.pop("client_code", "")
        answers = {name: text for name, text in texts.items() if text}
        given = {"study": self.study, "client_code": code, "answers": answers}
        return Call(enrol, given)

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say whether she takes part; show her card in large letters."""
        assignment = result.value
        if assignment is None:
            return result.lines, ""
        plan = opened(self.study).plan()
        told = [line for line in result.lines if not line.startswith("Her card:")]
        return told, card(assignment, plan)

    def show(self, result: Any, line: str) -> None:
        """Show the card, with an empty form for the next client."""
        self.moved_on()
        self._renew()
        super().show(result, line)


def _told(field: Field) -> tuple[str, ...]:
    if field.kind == "date":
        return ("Leave empty if she said no.",)
    return (field.hint, *field.anchors)


def card(assignment: Assignment, plan: Plan) -> str:
    """Write an opened card in large letters.

    Parameters
    ----------
    assignment : Assignment
    plan : Plan

    Returns
    -------
    str
        HTML.
    """
    slot = assignment.slot
    if slot.arm is not None:
        rows = [f"Both eyelids: <strong>{escape(plan.arms.label(slot.arm))}</strong>"]
    else:
        order: tuple[Side, Side] = ("L", "R") if slot.first == "L" else ("R", "L")
        rows = [
            f"{place}: {_SIDES[side]} eyelid, "
            f"<strong>{escape(plan.arms.label(slot.arm_of(side)))}</strong>"
            for place, side in zip(("First", "Then"), order, strict=True)
        ]
    foot = paragraphs(["LEFT and RIGHT are the client's own, not as you face her."])
    code = escape(assignment.client_code)
    return (
        f'<div class="pmulab-card" role="group" aria-label="Card of {code}">'
        f"{code}<br>{'<br>'.join(rows)}</div>{foot}"
    )
