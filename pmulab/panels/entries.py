"""The two ways and the promises of a plan."""

from collections.abc import Sequence
from typing import Any

from ipywidgets import Widget

from pmulab.panels.early import looking, looking_entries
from pmulab.panels.inputs import choice, long_words, note, words
from pmulab.panels.plan_part import PlanPart
from pmulab.plan import Plan
from pmulab.plan.labels import PROMISE_TITLES
from pmulab.questions.comments import ENTRIES
from pmulab.stations.lock import PROMISES

_LOOKING = "analysis."
"""The input that stands for several entries of this part of the plan."""


class Ways(PlanPart):
    """The two ways and the one measure that decides.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "2. The two ways, and the one measure that decides"
    lead = (
        "Name both ways as you say them aloud, and write the steps so that a colleague could "
        "repeat them. Only what is compared may differ."
    )
    button = "Save the two ways"

    def renewed(self, plan: Plan) -> Sequence[Widget]:
        """Make the inputs from the plan."""
        for key in ("A", "B"):
            arm = getattr(plan.arms, key)
            self.inputs[f"arms.{key}.label"] = words(f"Way {key}", arm.label)
            self.inputs[f"arms.{key}.steps"] = long_words(f"Steps of way {key}", arm.steps, 6)
        options = [(f"{one.title} ({one.unit})", one.name) for one in plan.outcomes]
        self.inputs["primary"] = choice("Main measure", options, plan.primary.name)
        hint = note(
            "The one measure that decides. The others stay in the study as extra looks, which "
            "never decide."
        )
        return [*self.inputs.values(), hint]

    def changes(self, plan: Plan) -> dict[str, Any]:  # noqa: ARG002
        """Give the entries as they stand in the inputs."""
        return {entry: given.value for entry, given in self.inputs.items()}


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
        self.inputs[_LOOKING] = looking(plan)
        hint = note(
            "Looking costs something, however it is done; the findings count it. A study can be "
            "ended for harm at any time."
        )
        return [*parts, self.inputs[_LOOKING], hint]

    def changes(self, plan: Plan) -> dict[str, Any]:
        """Give the entries as they stand in the inputs."""
        chosen = self.inputs[_LOOKING].value
        promised = {entry: given.value for entry, given in self.inputs.items() if entry != _LOOKING}
        return promised | looking_entries(plan, chosen)
