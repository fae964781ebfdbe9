"""What handout and slides part alike: alarms from the rest, and how an outcome reads."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from pmulab.figures.lettering import clean, few, shortened
from pmulab.findings import Effect, Findings
from pmulab.plan import Arm, Arms, Key, Plan
from pmulab.wording import (
    capital,
    certainty,
    fooled_lines,
    plan_state,
    poor_lines,
    rated,
    reading,
)

ARMS: tuple[Key, ...] = ("A", "B")
_MOST_ALARMS = 3
_SHORTEST_STEP = 24
_NUMBER = re.compile(r"(\d{1,2}[.)])\s+(.+)")
_ENDED = (".", "!", "?", ":", ";")


def alarms_and_rest(findings: Findings) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Part what could fool us: departures from the plan are read first.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    tuple of (tuple of str, tuple of str)
        The departures, none shortened, harm first and every other kind cut to a few; and
        everything else.
    """
    provenance = findings.provenance
    lines = tuple(fooled_lines(findings))
    stopped = tuple(
        line for line in lines if provenance.stopped and line.endswith(provenance.stopped)
    )
    scored = tuple(poor_lines(findings.scoring, findings.plan)) if findings.scoring else ()
    changed = (provenance.tampering, provenance.looks, provenance.replacements)
    kinds = (stopped, *changed, tuple(plan_state(findings)), scored)
    loud = {*provenance.harm, *(line for kind in kinds for line in kind)}
    alarms = (
        *provenance.harm,
        *(line for kind in kinds for line in few(kind, _MOST_ALARMS)),
    )
    return alarms, tuple(line for line in lines if line not in loud)


def steps_of(plan: Plan, key: Key, limit: int) -> tuple[str, ...]:
    """Give the steps of an arm line by line, cut at a step where they are too long.

    A numbered step that goes on in a further line is put together again.

    Parameters
    ----------
    plan : Plan
    key : {'A', 'B'}
    limit : int
        Characters of all lines together.

    Returns
    -------
    tuple of str
    """
    arm = plan.arms.A if key == "A" else plan.arms.B
    left, kept = limit, []
    for line in _whole(filter(None, map(clean, arm.steps.splitlines()))):
        if left < len(line):
            kept.append(shortened(line, left) if left > _SHORTEST_STEP else "…")
            break
        kept.append(line)
        left -= len(line)
    return tuple(kept)


def _whole(lines: Iterable[str]) -> Iterator[str]:
    """Put a numbered step together with the lines in which its sentence goes on."""
    step = ""
    for line in lines:
        if _NUMBER.fullmatch(step) and not step.endswith(_ENDED) and not _NUMBER.fullmatch(line):
            step = f"{step} {line}"
            continue
        if step:
            yield step
        step = line
    if step:
        yield step


def numbered(steps: Iterable[str]) -> list[tuple[str, str]]:
    """Part each step from its number, so that its further lines stand beside the number.

    Parameters
    ----------
    steps : iterable of str
        One line each.

    Returns
    -------
    list of (str, str)
        Number with its point or bracket, '' for a line without one; and the rest.
    """
    parted = ((_NUMBER.fullmatch(step), step) for step in steps)
    return [(one[1], one[2]) if one else ("", step) for one, step in parted]


def exploratory_readings(findings: Findings) -> list[tuple[str, str]]:
    """Say how each outcome but the main one reads, for beside its picture.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    list of (str, str)
        Title, and the reading without the difference that the picture shows; the arms by letter.
    """
    letters = replace(findings.plan, arms=Arms(Arm("A"), Arm("B")))
    return [_reading(effect, letters) for effect in findings.secondary]


def _reading(effect: Effect, plan: Plan) -> tuple[str, str]:
    sure = f" {certainty(effect)}" if rated(effect) else ""
    return capital(effect.outcome.title), f"{reading(effect, plan)}{sure}"
