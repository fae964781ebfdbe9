"""Findings without anything that could point to a person: texts, dates, small counts."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from pmulab.findings import Change, Effect, Findings, Flow, Provenance, Safety
from pmulab.plan import Plan, plan_from_dict
from pmulab.plan.telling import place_in, telling
from pmulab.tables.shared import SMALLEST_CELL

KEPT_BACK = "kept in the studio: some stand for fewer than five clients"
REASON_KEPT_BACK = "the reason stays in the studio"
WITHHELD = "withheld"
_REVIEWED = (
    "Harm that pauses a series was recorded. It was reviewed in the studio before further cards "
    "were opened; the words of the review stay there."
)
_MONTH = len("2026-03")
_LOOKS = {
    "Planned look": "Looked at the arms before the end, as planned.",
    "Looked": "Looked at the arms before the end, as planned.",
    "Unplanned look": "Looked at the arms before the end; that was not planned.",
    "The records": "The records were changed after an analysis.",
}


def deidentified(findings: Findings) -> tuple[Findings, tuple[str, ...]]:
    """Take out of findings whatever could point to a person.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    tuple of (Findings, sequence of str)
        No single values, no calendar days, no reasons typed by hand, no reason or gap that
        stands for fewer than five clients. Adverse events stay: harm has to be seen, and a
        count names nobody. Beside it the entries of the plan that were withheld.
    """
    plan, withheld = _plan(findings.plan)
    kept = replace(
        findings,
        plan=plan,
        flow=_flow(findings.flow),
        primary=_effect(findings.primary),
        secondary=tuple(_effect(effect) for effect in findings.secondary),
        missing_values={
            column: count
            for column, count in findings.missing_values.items()
            if count >= SMALLEST_CELL
        },
        provenance=_provenance(findings.provenance),
        safety=_safety(findings.safety),
    )
    return kept, withheld


def _plan(plan: Plan) -> tuple[Plan, tuple[str, ...]]:
    found = tuple(telling(plan))
    cleaned = _cleaned(plan.to_dict(), "", found)
    return (plan_from_dict(cleaned, "the pack"), found) if found else (plan, ())


def _cleaned(data: Any, place: str, found: Sequence[str]) -> Any:
    """Replace the texts that look as if they told a person."""
    if isinstance(data, dict):
        return {key: _cleaned(value, place_in(place, key), found) for key, value in data.items()}
    if isinstance(data, list):
        rows = enumerate(data, 1)
        return [_cleaned(value, place_in(place, row), found) for row, value in rows]
    return WITHHELD if place in found else data


def _flow(flow: Flow) -> Flow:
    return replace(
        flow,
        not_eligible_reasons=_reasons(flow.not_eligible_reasons),
        lost_reasons=_reasons(flow.lost_reasons),
        unseen_reasons=_reasons(flow.not_seen),
    )


def _effect(effect: Effect) -> Effect:
    missing = replace(effect.missing, reasons=_reasons(effect.missing.reasons))
    return replace(effect, clients=(), missing=missing)


def _reasons(reasons: tuple[str, ...]) -> tuple[str, ...]:
    """Keep counted reasons only if every one of them stands for enough clients."""
    counts = [int(number) for reason in reasons for number in re.findall(r"\d+", reason)[:1]]
    enough = len(counts) == len(reasons) and all(count >= SMALLEST_CELL for count in counts)
    return reasons if enough else (KEPT_BACK,)


def _provenance(told: Provenance) -> Provenance:
    changed, further = len(told.tampering), len(told.replacements)
    return replace(
        told,
        locked=told.locked[:_MONTH],
        analysed=told.analysed[:_MONTH],
        changes=tuple(Change(change.entry, "", "") for change in told.changes),
        looks=tuple(_looks(told.looks)),
        stopped=REASON_KEPT_BACK if told.stopped else "",
        tampering=(f"Changed outside pmulab: {changed} places.",) if changed else (),
        replacements=(f"Clients beyond the planned number, to replace one: {further}.",)
        if further
        else (),
        journal="",
        harm=(),
    )


def _safety(safety: Safety) -> Safety:
    """Keep how much harm vanished or was reviewed, without the words that were typed."""
    reviewed = _REVIEWED if safety.earlier.reviewed else ""
    return replace(safety, earlier=replace(safety.earlier, reviewed=reviewed))


def _looks(looks: tuple[str, ...]) -> Iterator[str]:
    """Say each look without its day and the reason that was typed."""
    for look in looks:
        known = (words for beginning, words in _LOOKS.items() if look.startswith(beginning))
        yield next(known, "Something was seen or changed on the way.")
