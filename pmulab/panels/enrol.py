"""Enrol one client and open her card."""

from collections.abc import Mapping, Sequence
from html import escape
from os import PathLike
from typing import Any

from ipywidgets import HTML, Box, VBox, Widget

from pmulab.allocation import Assignment, Side
from pmulab.counting import counted
from pmulab.panels.call import Call
from pmulab.panels.inputs import field_input, field_text, grid, note, words
from pmulab.panels.not_saved import NotSaved
from pmulab.panels.panel import Panel, kind_of
from pmulab.panels.showing import heading, paragraphs, said
from pmulab.plan import Arm, Plan
from pmulab.plan.steps import step_lines
from pmulab.stations.enrol import WORKED_OUT, enrol
from pmulab.stations.opening import opened
from pmulab.stations.replacing import spares_open
from pmulab.stations.reviews import PRINTED
from pmulab.stations.standing import after_harm
from pmulab.tables.fields import Field
from pmulab.wording.cards import card_lines

_CONSENT, _IF_KNOWN = "Consent", "If you know it"
_STOP_THERE = (
    "If she does not agree to be recorded, choose no and press the button at once: nothing else "
    "is asked, and nothing else is kept of her."
)
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
    repeats = "her answers"

    def __init__(self, study: str | PathLike[str]) -> None:
        self._unsaved = NotSaved(self.unsaved)
        super().__init__(study)

    def form(self) -> Sequence[Widget]:
        """Give an input for each question, by subject; consent comes first."""
        study = opened(self.study)
        locked = study.locked() is not None
        self.offer(locked)
        begun = self._begun_elsewhere()
        if not locked:
            told = "The plan is not locked yet: lock it in notebook 01, then come back."
            return [*begun, note(told)]
        plan = study.plan()
        code, *fields = (
            field
            for field in plan.tables()["clients"].fields
            if field.name not in (*WORKED_OUT, "consent_withdrawn")
        )
        parts: list[Widget] = [*begun, self._group([code])]
        for title, members in _by_subject(fields).items():
            parts += [HTML(heading(title)), self._group(members)]
            if title == _CONSENT:
                parts.append(note(_STOP_THERE))
        harm = after_harm(study)
        if harm:
            parts.insert(0, HTML(said([harm], "problem")))
        full = len(study.assignments()) >= plan.clients.planned
        spares = spares_open(study, plan.clients.planned)
        parts += [HTML(heading("Only if it applies")), self._exceptions(full, spares)]
        self._unsaved.watch(self.inputs.values())
        for given in self.inputs.values():
            given.observe(self._next_begun, "value")
        return [*parts, self._unsaved]

    def _begun_elsewhere(self) -> list[Widget]:
        """Point to a form that was half filled for another study, and waits there."""
        kept = self.drafts.elsewhere(self.draft_of())
        return [
            note(f"Half filled and not saved: {_begun(typed)}, in {of}. Choose that study again.")
            for of, typed in kept.items()
        ]

    def unsaved(self) -> str:
        """Say whose answers are not saved yet, and none of them; '' for an empty form."""
        typed = self.drafts.typed(self.inputs)
        return f"Not saved yet: {_begun(typed)}. Press '{self.button}'." if typed else ""

    def _next_begun(self, _change: Any) -> None:
        """Once the next client is asked, say no more why the one before does not take part."""
        because = self.result.data.get("because", ()) if self.result else ()
        if because and self.said.value:
            words = [line for line in self.result.lines if line not in because]
            self.tell(words, kind_of(self.result, words))

    def _group(self, fields: Sequence[Field]) -> Box:
        cells = []
        for field in fields:
            self.inputs[field.name] = field_input(field)
            cells.append(VBox([self.inputs[field.name], note(field.hint, *field.anchors)]))
        return grid(cells)

    def _exceptions(self, full: bool, spares: int) -> Box:
        """Give the two entries that are needed after an adverse event and beyond the plan."""
        self.inputs["reviewed"] = words("After an adverse event: who reviewed it")
        cells = [VBox([self.inputs["reviewed"], note("And what was decided.", PRINTED)])]
        if full:
            self.inputs["replacement"] = words("For whom this client comes, and why")
            told = (
                "Every planned client has a card. There is a spare for each client who is written "
                f"down as one who never came; now open: {spares}."
            )
            cells.append(VBox([self.inputs["replacement"], note(told, "No names.")]))
        return grid(cells)

    def call(self) -> Call:
        """Enrol the client with the answers that were given."""
        texts = {name: field_text(given) for name, given in self.inputs.items()}
        code = texts.pop("client_code", "")
        beside = {name: texts.pop(name, "") for name in ("reviewed", "replacement")}
        if texts.get("consent_record") == "no":  # nothing else of her is kept, nor shown
            texts = {"consent_record": "no"}
        given = {
            "study": self.study,
            "client_code": code,
            "answers": {name: text for name, text in texts.items() if text},
        }
        return Call(enrol, given | {name: text for name, text in beside.items() if text})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say whether she takes part; show her card in large letters."""
        assignment = result.value
        if assignment is None:
            return result.lines, ""
        plan = opened(self.study).plan()
        on_card = card_lines(assignment.slot, plan)
        return [line for line in result.lines if line not in on_card], card(assignment, plan)

    def show(self, result: Any, line: str) -> None:
        """Show the card, with an empty form for the next client."""
        self.drafts.saved(self.inputs)
        self.moved_on()
        self._renew()
        super().show(result, line)


def _begun(typed: Mapping[str, Any]) -> str:
    """Tell a half-filled form by its client."""
    code = str(typed.get("client_code", "")).strip().upper()
    number = len(typed.keys() - {"client_code"})
    if not code:
        return f"{counted(number, 'answer')} of a client without a code"
    return f"{code} with {counted(number, 'answer')}" if number else code


def _by_subject(fields: Sequence[Field]) -> dict[str, list[Field]]:
    """Put the questions under their subjects, those that may stay empty last."""
    found: dict[str, list[Field]] = {_CONSENT: []}
    for field in fields:
        title = field.group.capitalize() if field.needed != "no" else _IF_KNOWN
        found.setdefault(title, []).append(field)
    known = found.pop(_IF_KNOWN, [])
    return found | ({_IF_KNOWN: known} if known else {})


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
        rows = [("Both eyelids: ", slot.arm)]
    else:
        order: tuple[Side, Side] = ("L", "R") if slot.first == "L" else ("R", "L")
        rows = [
            (f"{place}: {_SIDES[side]} eyelid, ", slot.arm_of(side))
            for place, side in zip(("First", "Then"), order, strict=True)
        ]
    told = "".join(_row(where, dict(plan.arms.both)[key]) for where, key in rows)
    foot = paragraphs(["LEFT and RIGHT are the client's own, not as you face her."])
    code = escape(assignment.client_code)
    return (
        f'<div class="pmulab-card" role="group" aria-label="Card of {code}">'
        f"{code}{told}</div>{foot}"
    )


def _row(where: str, arm: Arm) -> str:
    """Write where a way is worked, and its steps as they were agreed."""
    steps = "<br>".join(map(escape, step_lines(arm.steps)))
    return (
        f"<div>{where}<strong>{escape(arm.label)}</strong></div>"
        f'<div class="pmulab-steps">{steps}</div>'
    )
