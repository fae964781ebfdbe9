"""What difference would matter, and what a number of clients could show."""

from collections.abc import Sequence
from dataclasses import replace
from os import PathLike
from typing import TYPE_CHECKING, Any, ClassVar

from ipywidgets import HTML, Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import grid, long_words, note, number, tick, whole_number, words
from pmulab.panels.plan_part import PlanPart
from pmulab.panels.showing import heading, line_of_code, paragraphs
from pmulab.plan import Plan
from pmulab.sizing import Sizes
from pmulab.stations.opening import opened
from pmulab.stations.size import size
from pmulab.wording import few_words, unit_of
from pmulab.wording.amounts import sized
from pmulab.wording.sizes import needed_lines

if TYPE_CHECKING:
    from pmulab.figures import Picture


class Matters(PlanPart):
    """The smallest worthwhile difference, with what a number of clients could show.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "3. What difference would matter, and how many clients?"
    lead = (
        "Ask yourself: which average difference would change what I buy or do, and would a "
        "client notice it? The picture follows a number as soon as you leave its line (with Tab, "
        "or with a click beside it); nothing is saved until you press."
    )
    button = "Save these numbers"
    always_open = frozenset({"spread"})
    _entries: ClassVar[dict[str, str]] = {
        "worthwhile": "primary.worthwhile",
        "own": "primary.worthwhile_own",
        "reason": "primary.worthwhile_reason",
        "planned": "clients.planned",
    }

    def __init__(self, study: str | PathLike[str]) -> None:
        self.picture = HTML()
        super().__init__(study)

    def draft_of(self) -> str:
        """Keep typing for this main measure only: another has another unit."""
        return f"{self.study}|{opened(self.study).plan().primary.name}"

    def entry(self, name: str) -> str:
        """Give the entry of the plan that an input belongs to."""
        return self._entries.get(name, name)

    def renewed(self, plan: Plan) -> Sequence[Widget]:
        """Make the inputs from the plan."""
        main, unit = plan.primary, unit_of(plan.primary)
        self.inputs = {
            "worthwhile": words(
                f"Smallest worthwhile difference ({unit})",
                f"{main.worthwhile:g}",
            ),
            "own": tick("I have decided this myself: it is my own number", main.worthwhile_own),
            "reason": long_words("Why that much matters", main.worthwhile_reason),
            "planned": words("Clients planned", str(plan.clients.planned)),
            "spread": words(_spread_words(plan)[0], example="empty if unknown"),
        }
        for name in ("worthwhile", "planned", "spread"):
            self.inputs[name].observe(self._changed, "value")
        self._live()
        hint = note(
            f"Main measure: {main.title}.",
            ": ".join(_spread_words(plan)),
            "Plain limits: four to eight clients rarely give more than a description. A multiple "
            "of 4 keeps sides and order even.",
        )
        left = [self.inputs[name] for name in ("worthwhile", "planned", "spread")]
        return [grid(left), hint, self.picture, self.inputs["own"], self.inputs["reason"]]

    def changes(self, plan: Plan) -> dict[str, Any]:
        """Give the entries as they stand in the inputs; a number she changed is her own."""
        worthwhile = number(self.inputs["worthwhile"])
        changed = worthwhile not in (None, plan.primary.worthwhile)
        given = {
            "worthwhile": worthwhile,
            "own": self.inputs["own"].value or changed,
            "reason": self.inputs["reason"].value,
            "planned": whole_number(self.inputs["planned"]),
        }
        return {self.entry(name): value for name, value in given.items() if value is not None}

    def size_call(self) -> Call:
        """Ask what a number of clients could show with the numbers as they stand."""
        main = opened(self.study).plan().primary
        spread, worthwhile = number(self.inputs["spread"]), number(self.inputs["worthwhile"])
        given: dict[str, Any] = {"study": self.study}
        if spread is not None:
            given["share" if main.yes_no else "sd"] = spread
        if worthwhile not in (None, main.worthwhile):
            given["worthwhile"] = worthwhile
        return Call(size, given)

    def _changed(self, _change: Any) -> None:
        self.guarded(self._live)

    def _live(self) -> None:
        """Draw the picture anew."""
        call = self.size_call()
        self.said.value = ""
        shown: Sequence[Sizes] = call().value
        middle = shown[len(shown) // 2]
        planned = whole_number(self.inputs["planned"])
        drawn = size_picture(middle, planned)
        guess = "" if len(shown) == 1 else " (a guess: you gave no spread)"
        self.picture.value = (
            heading(f"If values spread by {sized(f'{middle.sd:.3g}', middle.unit)}{guess}")
            + drawn._repr_html_()
            + paragraphs([*needed_lines(middle, self._tried()), self._few(planned)])
            + line_of_code(str(call))
        )

    def _few(self, planned: int | None) -> str:
        """Say what so few clients could never show."""
        return few_words(self._tried(), planned) if planned is not None and planned > 1 else ""

    def _tried(self) -> Plan:
        """Give the plan with the difference as it stands here."""
        plan = opened(self.study).plan()
        worthwhile = number(self.inputs["worthwhile"]) or plan.primary.worthwhile
        return replace(plan, primary=replace(plan.primary, worthwhile=worthwhile))


def size_picture(found: Sizes, planned: int | None = None) -> "Picture":
    """Draw what a number of clients could show.

    Parameters
    ----------
    found : Sizes
    planned : int, optional

    Returns
    -------
    Picture
    """
    from pmulab.figures import what_n_could_show

    return what_n_could_show(
        [(row.clients, row.half_width, row.assured) for row in found.rows],
        worthwhile=found.worthwhile,
        unit=found.unit,
        planned=planned,
    )


def _spread_words(plan: Plan) -> tuple[str, str]:
    """Name what tells how far values spread, and say what it is."""
    if plan.primary.yes_no and plan.within_person:
        return (
            "Share that differs (per cent)",
            "of all clients, those whose two eyelids would differ.",
        )
    if plan.primary.yes_no:
        return "Share of yes (per cent)", "of all clients, those with a yes in the usual way."
    what = "each client's difference" if plan.within_person else "each client's value"
    return (
        f"Spread ({plan.primary.unit})",
        f"how far {what} usually lies from the average of all (the standard deviation). Take it "
        "from a rehearsal, or leave it empty: a guess is then used.",
    )
