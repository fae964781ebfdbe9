"""Findings cut to the paper: texts that could grow without bound are shortened."""

from dataclasses import dataclass, replace

from pmulab.figures.lettering import few, shortened
from pmulab.findings import Effect, Findings
from pmulab.plan import Arm, Arms, Outcome, Plan


@dataclass(frozen=True, slots=True)
class Room:
    """How long texts may be, in characters, and lists, in entries.

    Parameters
    ----------
    name : str
        Of the print size that goes with it in the style sheet.
    label, title, unit, phrase, sentence, steps : int
        Characters of an arm's label, an outcome's title and unit, a reason, a sentence, and an
        arm's steps.
    reasons, side_reasons : int
        Entries kept of a list of reasons, of the main and of a side outcome.
    line : int
        Characters of a reporting item.
    """

    name: str
    label: int
    title: int
    unit: int
    phrase: int
    sentence: int
    steps: int
    reasons: int
    side_reasons: int
    line: int


ROOMY = Room("roomy", 40, 44, 20, 72, 120, 1200, 4, 3, 160)
SNUG = Room("snug", 40, 44, 20, 72, 120, 1200, 4, 2, 160)
SHORT = replace(SNUG, steps=420)
SPREAD = replace(ROOMY, name="spread")
"""On as many pages as it takes: rather a further page than letters that nobody can read."""
TIGHT = Room("tight", 32, 36, 20, 44, 90, 160, 2, 0, 76)
"""For slides."""

_MOST_CAUTIONS, _CAUTION = 6, 300


def fitted(findings: Findings, room: Room) -> Findings:
    """Shorten every text that could grow without bound; numbers stay as they are.

    Parameters
    ----------
    findings : Findings
    room : Room

    Returns
    -------
    Findings
        The same findings; what was cut ends in an ellipsis or 'and so many more'. What tells of
        harm, of a pause or of a departure from the plan is never cut.
    """
    provenance, flow, safety = findings.provenance, findings.flow, findings.safety
    return replace(
        findings,
        plan=_plan(findings.plan, room),
        primary=_effect(findings.primary, room, room.reasons),
        secondary=tuple(_effect(effect, room, room.side_reasons) for effect in findings.secondary),
        flow=replace(
            flow,
            not_eligible_reasons=few(flow.not_eligible_reasons, room.reasons, room.phrase),
            lost_reasons=few(flow.lost_reasons, room.reasons, room.phrase),
            unseen_reasons=few(flow.not_seen, room.reasons, room.phrase),
        ),
        safety=replace(
            safety,
            events=tuple(
                replace(
                    event,
                    event=shortened(event.event, room.phrase),
                    severity=shortened(event.severity, room.unit),
                )
                for event in safety.events
            ),
        ),
        provenance=replace(
            provenance,
            software=shortened(provenance.software, room.phrase),
        ),
    )


def _plan(plan: Plan, room: Room) -> Plan:
    return replace(
        plan,
        study=replace(
            plan.study,
            setting=shortened(plan.study.setting, room.phrase),
            operator=shortened(plan.study.operator, room.phrase),
        ),
        arms=Arms(_arm(plan.arms.A, room), _arm(plan.arms.B, room)),
        primary=_outcome(plan.primary, room),
        secondary=tuple(_outcome(outcome, room) for outcome in plan.secondary),
        clients=replace(plan.clients, exclude=few(plan.clients.exclude, room.reasons, room.phrase)),
        promises=replace(
            plan.promises,
            sharing=shortened(plan.promises.sharing, room.sentence),
            cautions=few(plan.promises.cautions, _MOST_CAUTIONS, _CAUTION),
        ),
    )


def _arm(arm: Arm, room: Room) -> Arm:
    return replace(
        arm, label=shortened(arm.label, room.label), steps=shortened(arm.steps, room.steps)
    )


def _outcome(outcome: Outcome, room: Room) -> Outcome:
    return replace(
        outcome,
        title=shortened(outcome.title, room.title),
        unit=shortened(outcome.unit, room.unit),
    )


def _effect(effect: Effect, room: Room, reasons: int) -> Effect:
    verdict, missing = effect.verdict, effect.missing
    return replace(
        effect,
        outcome=_outcome(effect.outcome, room),
        difference=replace(
            effect.difference, note=shortened(effect.difference.note, room.sentence)
        ),
        missing=replace(missing, reasons=few(missing.reasons, room.reasons, room.phrase)),
        verdict=replace(
            verdict,
            reasons=few(verdict.reasons, reasons, room.phrase) if reasons else (),
            depends_on=shortened(verdict.depends_on, room.phrase),
        ),
    )
