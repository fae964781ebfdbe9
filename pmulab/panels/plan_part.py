"""A part of the plan that can be changed until the plan is locked."""

from collections.abc import Collection, Sequence
from os import PathLike
from typing import Any, ClassVar

from ipywidgets import Widget

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.inputs import note
from pmulab.panels.not_saved import NotSaved
from pmulab.panels.panel import Panel
from pmulab.plan import Plan, entries_of
from pmulab.stations.opening import opened
from pmulab.stations.revise import MAIN, revise

_NEVER = object()


class PlanPart(Panel):
    """Entries of a plan that can be changed until it is locked."""

    always_open: ClassVar[frozenset[str]] = frozenset()

    def __init__(self, study: str | PathLike[str]) -> None:
        self._unsaved = NotSaved(self.unsaved)
        self._seen: dict[str, Any] = {}
        super().__init__(study)

    def renewed(self, plan: Plan) -> Sequence[Widget]:
        """Make the inputs from the plan."""
        raise NotImplementedError

    def changes(self, plan: Plan) -> dict[str, Any]:
        """Give the entries as they stand in the inputs."""
        raise NotImplementedError

    def entry(self, name: str) -> str:
        """Give the entry of the plan that an input belongs to."""
        return name

    def form(self) -> Sequence[Widget]:
        """Give the inputs, closed when the plan is locked."""
        study = opened(self.study)
        locked, plan = study.locked(), study.plan()
        parts = list(self.renewed(plan))
        self._seen = _flat(plan)
        self.offer(locked is None)
        for name, given in self.inputs.items():
            given.disabled = locked is not None and name not in self.always_open
        self._unsaved.watch(
            given for name, given in self.inputs.items() if name not in self.always_open
        )
        if locked is not None:
            parts.insert(0, note(f"Locked on {locked.time[:10]}: shown, and not to be changed."))
        return [*parts, self._unsaved]

    def call(self) -> Call:
        """Change the entries that were changed here."""
        plan = opened(self.study).plan()
        changed = {
            entry: value
            for entry, value in self.changes(plan).items()
            if self._seen.get(entry, _NEVER) != value
        }
        self._refuse_overwriting(changed, _flat(plan))
        return Call(revise, {"study": self.study, "changes": changed})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what was changed, by the labels of the form."""
        changed = self._labels(result.data["changed"])
        if not changed:
            return ["Nothing was different from the plan."], ""
        return [f"Saved in the plan: {'; '.join(changed)}."], ""

    def show(self, result: Any, line: str) -> None:
        """Show what was changed, here and in the panels below."""
        self.drafts.saved(self.inputs)
        self._seen = _flat(result.value)
        self._unsaved.look()
        self.moved_on()
        super().show(result, line)

    def unsaved(self) -> str:
        """Say what was typed and is not saved yet, and which button saves it; '' for nothing."""
        typed = [self.inputs[name].description for name in self.drafts.typed(self.inputs)
                 if name not in self.always_open]  # fmt: skip
        return f"Not saved yet: {'; '.join(typed)}. Press '{self.button}'." if typed else ""

    def _labels(self, entries: Collection[str]) -> list[str]:
        """Name entries of the plan by the labels of the form."""
        return [
            given.description
            for name, given in self.inputs.items()
            if any(_belongs(entry, self.entry(name)) for entry in entries)
        ]

    def _refuse_overwriting(self, changed: dict[str, Any], now: dict[str, Any]) -> None:
        """Refuse to undo what another notebook saved since this form was made."""
        about = {entry for entry in changed if now.get(entry) != self._seen.get(entry)}
        if now[MAIN] != self._seen.get(MAIN):
            about |= {entry for entry in changed if entry.split(".")[0] == MAIN}
        if about:
            named = "; ".join(self._labels(about)) or "the main measure"
            raise UserError(
                f"Changed elsewhere since this form was opened: {named}. Nothing was saved.",
                "Copy what you typed, choose Run > Run All Cells, and look at what stands there.",
            )


def _belongs(entry: str, asked: str) -> bool:
    """Tell whether an entry is the one asked for, or lies in the part that ends with a point."""
    return entry == asked or (asked.endswith(".") and entry.startswith(asked))


def _flat(plan: Plan) -> dict[str, Any]:
    """Give the entries of a plan by their names; the main outcome also by its own."""
    return entries_of(plan) | {MAIN: plan.primary.name}
