"""A part of the plan that can be changed until the plan is locked."""

from collections.abc import Sequence
from typing import Any, ClassVar

from ipywidgets import Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import note
from pmulab.panels.panel import Panel
from pmulab.plan import Plan
from pmulab.stations.opening import opened
from pmulab.stations.revise import revise

_NEVER = object()


class PlanPart(Panel):
    """Entries of a plan that can be changed until it is locked."""

    always_open: ClassVar[frozenset[str]] = frozenset()

    def renewed(self, plan: Plan) -> Sequence[Widget]:
        """Make the inputs from the plan."""
        raise NotImplementedError

    def changes(self, plan: Plan) -> dict[str, Any]:
        """Give the entries as they stand in the inputs."""
        raise NotImplementedError

    def form(self) -> Sequence[Widget]:
        """Give the inputs, closed when the plan is locked."""
        study = opened(self.study)
        locked = study.locked()
        parts = list(self.renewed(study.plan()))
        self.offer(locked is None)
        for name, given in self.inputs.items():
            given.disabled = locked is not None and name not in self.always_open
        if locked is not None:
            parts.insert(0, note(f"Locked on {locked.time[:10]}: shown, and not to be changed."))
        return parts

    def call(self) -> Call:
        """Change the entries that differ from the plan."""
        plan = opened(self.study).plan()
        known = _flat(plan)
        changed = {
            entry: value
            for entry, value in self.changes(plan).items()
            if known.get(entry, _NEVER) != value
        }
        return Call(revise, {"study": self.study, "changes": changed})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what was changed."""
        return [*result.lines, "Saved in plan.toml."], ""

    def show(self, result: Any, line: str) -> None:
        """Show what was changed, here and in the panels below."""
        self.moved_on()
        super().show(result, line)


def _flat(plan: Plan) -> dict[str, Any]:
    """Give the entries of a plan by their names; the main outcome also by its own."""
    data = plan.to_dict()
    known = {f"{part}.{key}": value for part in ("clients", "promises", "primary")
             for key, value in data[part].items()}  # fmt: skip
    known |= {
        f"arms.{arm}.{key}": value for arm in "AB" for key, value in data["arms"][arm].items()
    }
    return known | {"primary": plan.primary.name}
