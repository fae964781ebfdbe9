"""Lock a plan."""

from collections.abc import Sequence
from typing import Any

from ipywidgets import HTML, Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import tick
from pmulab.panels.panel import Panel
from pmulab.panels.showing import paragraphs
from pmulab.plan import Plan
from pmulab.stations.lock import lock
from pmulab.stations.opening import opened
from pmulab.wording import unit_of


class Lock(Panel):
    """Freeze the plan and draw the sealed cards.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "5. Lock the plan"
    lead = (
        "From here on the plan stays as it is, the cards are drawn and sealed, and the workbook "
        "is laid out. This cannot be undone."
    )
    button = "Lock the plan"
    keeps_typing = False  # whoever ticked has read the plan as it was then

    def form(self) -> Sequence[Widget]:
        """Show the plan in short, and ask once more."""
        study = opened(self.study)
        locked = study.locked()
        self._button.disabled = True
        self.offer(locked is None)
        if locked is not None:
            told = [f"Locked on {locked.time[:10]}.", f"Fingerprint: {locked.fingerprint[:16]}"]
            return [HTML(paragraphs(told))]
        plan = study.plan()
        self.inputs = {"read": tick("I have read every line of the plan, and it is what I want")}
        self.inputs["read"].observe(self._ticked, "value")
        return [HTML(paragraphs(_in_short(plan))), self.inputs["read"]]

    def call(self) -> Call:
        """Lock the plan."""
        return Call(lock, {"study": self.study})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what was done."""
        files = ", ".join(path.name for path in result.files)
        return [*result.lines[:2], f"Written: {files}.", "Next: notebook 02, enrol a client."], ""

    def show(self, result: Any, line: str) -> None:
        """Show what was done, here and in the panels above."""
        self.moved_on()
        self._renew()
        super().show(result, line)

    def _ticked(self, change: Any) -> None:
        self._button.disabled = not change["new"]


def _in_short(plan: Plan) -> list[str]:
    main = plan.primary
    own = "" if main.worthwhile_own else " It is still the suggestion, not marked as yours."
    return [
        plan.study.question,
        f"A: {plan.arms.A.label}. B: {plan.arms.B.label}.",
        f"Main measure: {main.title}.",
        f"Smallest worthwhile difference: {main.worthwhile:g} {unit_of(main)}.{own}",
        f"Clients planned: {plan.clients.planned}. Healed line judged on day "
        f"{plan.healed.planned_day}.",
    ]
