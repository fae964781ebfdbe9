"""Run the analysis, or see how a running study stands."""

from collections.abc import Iterator, Sequence
from typing import Any

from ipywidgets import Widget

from pmulab.errors import UserError
from pmulab.findings import Effect, Findings, Running
from pmulab.panels.call import Call
from pmulab.panels.inputs import choice, note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import heading, paragraphs
from pmulab.plan import Plan
from pmulab.stations.analyse import analyse
from pmulab.wording import (
    MEANING,
    certainty,
    details,
    finding,
    fooled_lines,
    next_lines,
    plan_state,
    poor_lines,
    safety_lines,
)

_WAYS = (
    ("Analyse when it is complete; until then show pace and safety only", ""),
    ("Take the early look that the plan allows", "look"),
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

    def form(self) -> Sequence[Widget]:
        """Give the ways to look, and the reason that some of them need."""
        self.inputs = {
            "way": choice("What to do", _WAYS, ""),
            "reason": words("Reason"),
        }
        return [
            self.inputs["way"],
            self.inputs["reason"],
            note(
                "A reason is needed for an unplanned look and for ending early. It is kept in "
                "the journal and shown on every output for good."
            ),
        ]

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

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what went wrong, then the main outcome; or show the running view."""
        if isinstance(result.value, Running):
            return result.lines[:1], running_page(result)
        findings: Findings = result.value
        said = [
            *(["Invented data for demonstration."] if findings.plan.study.invented else []),
            *plan_state(findings),
            *safety_lines(findings.safety, findings.plan),
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
    return drawn + paragraphs(result.lines[1:])


def findings_page(findings: Findings) -> Iterator[str]:
    """Show the findings: the main outcome, what it means, and the rest behind a label.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
        HTML.
    """
    from pmulab.figures import all_outcomes, flow, pairs

    plan = findings.plan
    means, does_not = MEANING[findings.primary.verdict.case]
    yield heading("Main outcome") + pairs(findings.primary, plan)._repr_html_()
    yield paragraphs(details(findings.primary, plan))
    yield heading("What it means") + paragraphs([means])
    yield heading("What it does not mean") + paragraphs([does_not])
    yield heading("What could fool us") + paragraphs(fooled_lines(findings))
    yield heading("What next") + paragraphs(next_lines(findings))
    yield heading("Who was asked, and who is in the comparison") + flow(findings)._repr_html_()
    if findings.secondary:
        yield _behind("Extra looks (exploratory: they never decide)", [
            all_outcomes(findings)._repr_html_(),
            *(_extra(effect, plan) for effect in findings.secondary),
        ])  # fmt: skip


def _extra(effect: Effect, plan: Plan) -> str:
    return paragraphs([f"Exploratory. {finding(effect, plan)}"])


def _behind(label: str, parts: Sequence[str]) -> str:
    return f"<details><summary>{label}</summary>{''.join(parts)}</details>"
