"""Lock a plan."""

from collections.abc import Mapping, Sequence
from itertools import chain
from typing import Any

from ipywidgets import HTML, Widget

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.entries import Promises
from pmulab.panels.inputs import tick
from pmulab.panels.panel import Chosen, Panel
from pmulab.panels.showing import heading, paragraphs, said
from pmulab.plan import Plan
from pmulab.plan.labels import PROMISE_TITLES
from pmulab.plan.recorded import column_words, recorded
from pmulab.stations.lock import empty_promises, lock
from pmulab.stations.opening import opened
from pmulab.tables.expectations import Shown, shown_words
from pmulab.wording import CAUTIONS, few_words, with_unit
from pmulab.wording.few import too_few
from pmulab.wording.plans import telling_lines, unlike_lines


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
        self.inputs = {"read": tick(_agreed(plan))}
        self.inputs["read"].observe(self._ticked, "value")
        unlike = [*chain(*unlike_lines(plan))]
        return [
            HTML(paragraphs([*_in_short(plan), *telling_lines(plan)])),
            HTML(heading("Before the first client") + paragraphs(_cautions(plan))),
            *([HTML(said(unlike, "problem"))] if unlike else []),
            self.inputs["read"],
        ]

    def call(self) -> Call:
        """Lock the plan; nothing that was typed above and not saved is passed over."""
        unsaved = self._study.all_unsaved() if isinstance(self._study, Chosen) else ()
        if unsaved:
            raise UserError(
                f"Something above is typed, and not in the plan yet. {' '.join(unsaved)}",
                "Save it first, or take it out; then read the plan again and lock it.",
            )
        empty = [PROMISE_TITLES[name] for name in empty_promises(opened(self.study).plan())]
        if empty:
            raise UserError(
                f"Still empty among the promises: {'; '.join(empty)}.",
                f"Write one or two sentences on each in form 4, and press '{Promises.button}' "
                "first; then lock.",
            )
        return Call(lock, {"study": self.study})

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what was done."""
        files = ", ".join(path.name for path in result.files)
        return [*result.lines[:-1], f"Written: {files}.", "Next: notebook 02, enrol a client."], ""

    def show(self, result: Any, line: str) -> None:
        """Show what was done, here and in the panels above."""
        self.moved_on()
        self._renew()
        super().show(result, line)

    def _ticked(self, change: Any) -> None:
        self._button.disabled = not change["new"]


def _agreed(plan: Plan) -> str:
    read = "I have read every line of the plan, and it is what I want"
    return f"{read}. I know that so few clients can give no answer" if too_few(plan) else read


def _in_short(plan: Plan) -> list[str]:
    main, healed = plan.primary, plan.healed
    own = "" if main.worthwhile_own else " It is still the suggestion, not marked as yours."
    return [
        plan.study.question,
        f"A: {plan.arms.A.label}. B: {plan.arms.B.label}.",
        *_shown(plan),
        f"Main measure: {main.title}.",
        f"Smallest worthwhile difference: {with_unit(main.worthwhile, main)}.{own}",
        f"Healed visit: planned for day {healed.planned_day}; it counts from day "
        f"{healed.earliest} to day {healed.latest} after the session.",
        f"Clients planned: {plan.clients.planned}. {few_words(plan)}",
    ]


def _shown(plan: Plan) -> list[str]:
    """Say what each row of a way will be checked for."""
    return [
        f"The records of way {key} have to show: {_shown_of(shown)}. To change it, use form 2."
        for key, shown in recorded(plan).items()
        if shown
    ]


def _shown_of(shown: Mapping[str, Shown]) -> str:
    return ", ".join(f"{column_words(name)} {shown_words(one)}" for name, one in shown.items())


def _cautions(plan: Plan) -> list[str]:
    """Give the cautions of every output, those of this question first."""
    return [*plan.promises.cautions, *CAUTIONS]
