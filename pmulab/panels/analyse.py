"""Run the analysis, or see how a running study stands."""

from collections.abc import Iterator, Sequence
from typing import Any

from ipywidgets import VBox, Widget

from pmulab.errors import UserError
from pmulab.findings import Effect, Findings, Running
from pmulab.panels.call import Call
from pmulab.panels.inputs import choice, note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import heading, paragraphs
from pmulab.plan import Plan
from pmulab.stations.analyse import analyse
from pmulab.stations.opening import opened
from pmulab.wording import (
    certainty,
    details,
    finding,
    fooled_lines,
    harm_lines,
    next_lines,
    plan_state,
    poor_lines,
)
from pmulab.wording.meaning import does_not_mean, means

_FINAL = ("Final analysis, once all results are in; until then pace and safety only", "")
_PLANNED = ("Take the early look that the plan allows", "look")
_LAST_RESORTS = (
    ("Look early although the plan does not allow it", "unplanned"),
    ("End the study early (for harm: always allowed)", "stopped"),
)


class Analyse(Panel):
    """The findings of a finished study, or the view with the arms hidden.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "Analyse"
    lead = "While a study runs, the arms stay hidden: you see pace, gaps and safety."
    button = "Analyse"
    slow = True

    def form(self) -> Sequence[Widget]:
        """Give the ways to look that the plan has, and the reason that some of them need."""
        looks = opened(self.study).plan().analysis.looks
        ways = [_FINAL, *([_PLANNED] if looks else []), *_LAST_RESORTS]
        self.inputs = {
            "way": choice("What to do", ways, ""),
            "reason": words("Reason", example="one sentence, no names"),
        }
        hint = note(
            "An unplanned look and ending early need a reason. It is kept in the journal and "
            "shown on every output for good."
        )
        self._why = VBox([self.inputs["reason"], hint])
        self._why.layout.display = "none"
        self.inputs["way"].observe(self._way_chosen, "value")
        planned = (
            [note(f"Planned: a look after {_listed(looks)} complete clients.")] if looks else []
        )
        return [self.inputs["way"], *planned, self._why]

    def call(self) -> Call:
        """Analyse in the chosen way."""
        way, reason = self.inputs["way"].value, self.inputs["reason"].value.strip()
        given: dict[str, Any] = {"study": self.study}
        if way == "look":
            given["look"] = True
        elif way and not reason:
            raise UserError(
                "No reason is given.", "Write in one sentence why; it is kept for good."
            )
        elif way:
            given[way] = reason
        return Call(analyse, given)

    def show(self, result: Any, line: str) -> None:
        """Show what matters first, then draw the rest."""
        super().show(result, line)
        if isinstance(result.value, Findings):
            self.details.value += "".join(further_page(result.value))

    def _way_chosen(self, change: Any) -> None:
        needs = change["new"] in [way for _, way in _LAST_RESORTS]
        self._why.layout.display = "" if needs else "none"

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what went wrong, then the main outcome; or show the running view."""
        if isinstance(result.value, Running):
            pauses = [line for line in result.lines if line.startswith("PAUSE NOW")]
            return [*pauses, result.lines[0]], running_page(result)
        findings: Findings = result.value
        said = [
            *(["Invented data for demonstration."] if findings.plan.study.invented else []),
            *plan_state(findings),
            *harm_lines(findings),
            *(poor_lines(findings.scoring, findings.plan) if findings.scoring else ()),
            f"Main outcome. {finding(findings.primary, findings.plan)}",
            certainty(findings.primary),
        ]
        return said, "".join(findings_page(findings))


def running_page(result: Any) -> str:
    """Show how a running study stands.

    Parameters
    ----------
    result : Answer of Running

    Returns
    -------
    str
        HTML.
    """
    from pmulab.figures import running

    drawn: str = running(result.value)._repr_html_()
    meaning = (
        "What this means: how fast the study goes, what is missing, and whether anybody was "
        "harmed. It says nothing about which way is better, on purpose."
    )
    return drawn + paragraphs([*result.lines[1:], meaning])


def findings_page(findings: Findings) -> Iterator[str]:
    """Show the main outcome, what it means, and what could fool us.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
        HTML.
    """
    from pmulab.figures import pairs

    plan, main = findings.plan, findings.primary
    yield heading("Main outcome") + pairs(main, plan)._repr_html_()
    yield heading("What this means") + paragraphs([means(main, plan)])
    yield heading("What it does not mean") + paragraphs([does_not_mean(main, plan)])
    yield heading("What could fool us") + paragraphs(fooled_lines(findings))
    yield heading("What next") + paragraphs(next_lines(findings))
    yield _behind("The numbers beside it", [paragraphs(details(main, plan))], shown=True)


def further_page(findings: Findings) -> Iterator[str]:
    """Show who took part, and the exploratory outcomes behind their label.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
        HTML.
    """
    from pmulab.figures import all_outcomes, flow

    yield heading("Who was asked, and who is in the comparison") + flow(findings)._repr_html_()
    if findings.secondary:
        yield _behind("Extra looks (exploratory: they never decide)", [
            all_outcomes(findings)._repr_html_(),
            *(_extra(effect, findings.plan) for effect in findings.secondary),
        ])  # fmt: skip


def _extra(effect: Effect, plan: Plan) -> str:
    return heading(f"Exploratory: {effect.outcome.title}") + paragraphs([
        finding(effect, plan),
        f"What this means: {means(effect, plan)}",
        f"What it does not mean: {does_not_mean(effect, plan)}",
    ])  # fmt: skip


def _listed(looks: Sequence[int]) -> str:
    return " and ".join(map(str, looks))


def _behind(label: str, parts: Sequence[str], shown: bool = False) -> str:
    return (
        f"<details{' open' if shown else ''}><summary>{label}</summary>{''.join(parts)}</details>"
    )
