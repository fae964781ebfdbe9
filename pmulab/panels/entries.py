"""The two ways and the promises of a plan."""

from collections.abc import Sequence
from itertools import chain
from os import PathLike
from typing import Any

from ipywidgets import HTML, Widget

from pmulab.panels.early import looking, looking_entries
from pmulab.panels.inputs import choice, grid, long_words, note, words
from pmulab.panels.plan_part import PlanPart
from pmulab.panels.showing import heading
from pmulab.panels.shown import (
    columns_asked,
    columns_left,
    entry_of,
    shown_changes,
    shown_inputs,
)
from pmulab.plan import Plan
from pmulab.plan.labels import CAUTIONS_TITLE, PROMISE_TITLES, STUDY_TITLES
from pmulab.plan.recorded import column_words
from pmulab.questions.comments import ENTRIES
from pmulab.stations.lock import PROMISES
from pmulab.stations.opening import opened
from pmulab.wording.plans import unlike_lines

_CAUTIONS = "promises.cautions"
_LOOKING = "analysis."
"""The input that stands for several entries of this part of the plan."""


class Ways(PlanPart):
    """Title and question, the two ways, what their records show, and the measure that decides.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "2. The two ways, and the one measure that decides"
    lead = (
        "Say in your own words what you ask. Name both ways as you say them aloud, and write the "
        "steps so that a colleague could repeat them. Only what is compared may differ."
    )
    button = "Save the two ways"

    def __init__(self, study: str | PathLike[str]) -> None:
        self._more: dict[str, set[str]] = {}
        super().__init__(study)

    def entry(self, name: str) -> str:
        """Give the entry of the plan that an input belongs to."""
        return entry_of(name)

    def renewed(self, plan: Plan) -> Sequence[Widget]:
        """Make the inputs from the plan."""
        asked = columns_asked(plan, self._more.get(self.study, ()))
        for name, label in STUDY_TITLES.items():
            self.inputs[f"study.{name}"] = words(label, getattr(plan.study, name))
            self.inputs[f"study.{name}"].add_class("pmulab-wide")
        for key, arm in plan.arms.both:
            self.inputs[f"arms.{key}.label"] = words(f"Way {key}", arm.label)
            self.inputs[f"arms.{key}.steps"] = long_words(f"Steps of way {key}", arm.steps, 6)
        ways = list(self.inputs.values())
        shown = {
            name: given
            for key, _ in plan.arms.both
            for name, given in shown_inputs(plan, key, asked).items()
        }
        options = [(f"{one.title} ({one.unit})", one.name) for one in plan.outcomes]
        main = choice("Main measure", options, plan.primary.name)
        self.inputs |= {**shown, "primary": main}
        return [
            *ways,
            HTML(heading("What the records of each way have to show")),
            note(
                "Every row of the records is held against this, and the check points out those "
                "that show something else. Change it together with the steps. What is left empty "
                "is not checked."
            ),
            grid(list(shown.values())),
            *self._one_more(columns_left(plan, asked)),
            main,
            note(
                "The one measure that decides. The others stay in the study as extra looks, which "
                "never decide."
            ),
        ]

    def changes(self, plan: Plan) -> dict[str, Any]:
        """Give the entries as they stand in the inputs."""
        plain = {
            name: given.value for name, given in self.inputs.items() if ".recorded." not in name
        }
        return plain | shown_changes(self.inputs, plan)

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what was changed, and what contradicts itself now."""
        told, rest = super().explain(result)
        return [*told, *chain(*unlike_lines(result.value))], rest

    def _one_more(self, left: Sequence[str]) -> list[Widget]:
        """Make the list of what may be checked as well; none once the plan is locked."""
        if opened(self.study).locked() is not None:
            return []
        options = [("nothing else", ""), *((column_words(name), name) for name in left)]
        asked = choice("Check something else as well", options, "")
        asked.observe(self._asked, "value")
        return [asked]

    def _asked(self, change: Any) -> None:
        """Give the inputs of one more column, with everything typed kept."""
        self._more.setdefault(self.study, set()).add(change["new"])
        self.guarded(self._renew)


class Promises(PlanPart):
    """What is settled with people before the first client.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "4. Six promises"
    lead = "One or two plain sentences on each, no names. Locking refuses while one is empty."
    button = "Save the promises"

    def renewed(self, plan: Plan) -> Sequence[Widget]:
        """Make the inputs from the plan."""
        parts: list[Widget] = []
        for name in PROMISES:
            given = long_words(PROMISE_TITLES[name], getattr(plan.promises, name))
            self.inputs[f"promises.{name}"] = given
            asked = ENTRIES[f"promises.{name}"].removeprefix("YOURS TO WRITE; ")
            parts += [given, note(asked.removeprefix("locking refuses while it is empty. "))]
        self.inputs[_CAUTIONS] = long_words(CAUTIONS_TITLE, "\n".join(plan.promises.cautions))
        self.inputs[_LOOKING] = looking(plan)
        return [
            *parts,
            self.inputs[_CAUTIONS],
            note("Shown on every output, beside the usual ones. Change them with your question."),
            self.inputs[_LOOKING],
            note(
                "Looking costs something, however it is done; the findings count it. A study can "
                "be ended for harm at any time."
            ),
        ]

    def changes(self, plan: Plan) -> dict[str, Any]:
        """Give the entries as they stand in the inputs."""
        chosen = self.inputs[_LOOKING].value
        promised = {entry: given.value for entry, given in self.inputs.items() if entry != _LOOKING}
        lines = [line.strip() for line in promised[_CAUTIONS].split("\n")]
        cautions = {_CAUTIONS: [line for line in lines if line]}
        return promised | cautions | looking_entries(plan, chosen)
