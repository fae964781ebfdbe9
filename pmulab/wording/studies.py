"""A study in words: how it was done, what went wrong, who took part, what could fool us."""

from collections.abc import Iterator
from textwrap import shorten

from pmulab.counting import counted
from pmulab.findings import Findings, Flow, Provenance, Running
from pmulab.plan import Outcome, Plan
from pmulab.wording.amounts import with_unit
from pmulab.wording.comparisons import HARM_FIRST
from pmulab.wording.judging import judged_words, who_knew
from pmulab.wording.safety import safety_lines
from pmulab.wording.scoring import scoring_summary

_MARK, _QUOTED = 16, 48
_HAND_ON = "Put the finding into the group's folder, whatever it says."


def when_words(outcome: Outcome, plan: Plan) -> str:
    """Say when an outcome is recorded."""
    if outcome.table == "sessions":
        return "on the day"
    healed = plan.healed
    return f"healed, day {healed.planned_day} ({healed.earliest} to {healed.latest})"


def method_lines(findings: Findings) -> Iterator[str]:
    """Say how the comparison was planned, and where it was done otherwise.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
    """
    plan = findings.plan
    lid, outcome = plan.study.lid, plan.primary
    had = "was to have" if findings.flow.treated < findings.flow.allocated else "had"
    if plan.within_person:
        yield (
            f"Each client {had} both ways, one on each {lid} eyelid. Which side had which, and "
            "which eyelid came first, was drawn by lot."
        )
    else:
        yield f"Each client {had} one way on both {lid} eyelids, drawn by lot."
    yield (
        f"Main measure: {outcome.title} ({outcome.unit}; {outcome.better} is better), "
        f"{when_words(outcome, plan)}, {judged_words(findings.primary)}."
    )
    own = "" if outcome.worthwhile_own else " (the suggested value, not confirmed as their own)"
    yield (
        f"Said beforehand to matter: more than {with_unit(outcome.worthwhile, outcome)}{own}. "
        f"Planned: {counted(plan.clients.planned, 'client')}."
    )


def flow_lines(flow: Flow) -> Iterator[str]:
    """Say how many clients went from asking to analysing.

    Parameters
    ----------
    flow : Flow

    Yields
    ------
    str
    """
    yield f"Asked: {flow.asked}."
    if flow.not_eligible:
        yield f"Could not take part: {flow.not_eligible} ({'; '.join(flow.not_eligible_reasons)})."
    if flow.no_consent:
        yield f"Did not agree: {flow.no_consent}."
    yield f"Drawn by lot: {flow.allocated}. Worked on: {flow.treated}."
    if flow.wrong_arm:
        yield f"Not worked as drawn: {flow.wrong_arm} (analysed as drawn)."
    if flow.withdrawn:
        yield f"Took back their consent: {flow.withdrawn} (left out)."
    lost = f" ({'; '.join(flow.not_seen)})" if flow.not_seen else ""
    yield f"Healed result seen: {flow.seen_healed}{lost}."
    yield (
        f"In the main comparison: {counted(flow.analysed, 'client')}, "
        f"{counted(flow.eyelids_analysed, 'eyelid')}."
    )


def fooled_lines(findings: Findings) -> Iterator[str]:
    """Say what could fool us in these findings.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
    """
    plan = findings.plan
    yield from plan_state(findings)
    yield from departures(findings)
    if findings.scoring is not None:
        yield scoring_summary(findings.scoring)
    yield from _in_the_flow(findings)
    yield from who_knew(findings.primary)
    if plan.primary.judged == "measured":
        yield "Whoever worked knew which way was which, and may have worked with more care on one."
    if not plan.primary.worthwhile_own:
        yield (
            "The smallest worthwhile difference is the suggested value; it was not confirmed as "
            "this studio's own."
        )
    if plan.within_person:
        yield "What is done to one eyelid may have reached the other; the data cannot show that."
    if findings.secondary:
        further = len(findings.secondary)
        many = f"{counted(further, 'further outcome')} {'is' if further == 1 else 'are'}"
        yield f"{many} exploratory: the more one looks at, the likelier a difference by luck."
    yield "One studio, few clients, one operator: another hand may find something else."


def _in_the_flow(findings: Findings) -> Iterator[str]:
    """Say who was worked on without the lot, and of whom later harm is not known."""
    flow = findings.flow
    if flow.before_card:
        yield (
            f"By the dates, {counted(flow.before_card, 'client')} had been worked on before the "
            "card was opened: then the lot decided nothing."
        )
    if flow.unlike_way:
        yield (
            f"Of {counted(flow.unlike_way, 'client')} the records show something else than the "
            "plan says of her way; it was not corrected and not explained."
        )
    if findings.safety.clients_healed is None and flow.treated > flow.seen_healed:
        unseen = counted(flow.treated - flow.seen_healed, "client")
        yield f"Not seen healed: {unseen}. Whether harm came later is not known of them."


def departures(findings: Findings) -> Iterator[str]:
    """Say what did not go as planned: harm first; outside changes, looks, replacements, an end.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
    """
    yield from findings.provenance.harm
    yield from findings.provenance.tampering
    yield from findings.provenance.looks
    yield from findings.provenance.replacements
    if findings.provenance.stopped:
        yield f"The study was stopped early: {findings.provenance.stopped}"


def plan_state(findings: Findings) -> Iterator[str]:
    """Say whether the plan was locked, and every change since.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
    """
    provenance = findings.provenance
    if not provenance.locked:
        yield "The plan was never locked: everything here is exploratory."
    for change in provenance.changes:
        texts = (shorten(repr(one), _QUOTED) for one in (change.locked, change.now))
        edited = "{}: locked as {}, now {}".format(change.entry, *texts)
        yield f"plan.toml was edited after locking ({edited}). The locked plan was analysed."


def origin(provenance: Provenance) -> str:
    """Say what the numbers were made from, with the beginnings of the fingerprints.

    The journal's last line stands there so that lines cut off its end can be told later.

    Parameters
    ----------
    provenance : Provenance

    Returns
    -------
    str
    """
    line, _, last = provenance.journal.partition(":")
    marks = {
        "plan": provenance.plan,
        "records": provenance.records,
        "allocation": provenance.allocation,
        f"journal up to line {line}" if last else "journal": last,
    }
    told = ", ".join(f"{name} {mark[:_MARK] or 'none'}" for name, mark in marks.items())
    locked = f"locked {provenance.locked[:10]}" if provenance.locked else "not locked"
    return (
        f"{provenance.software} · analysed {provenance.analysed} · plan {locked} · "
        f"fingerprints (SHA-256): {told}"
    )


def next_lines(findings: Findings) -> Iterator[str]:
    """Say what to do next.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
    """
    case = findings.primary.verdict.case
    if findings.safety.harm_first:
        yield HARM_FIRST
        yield "Clear up the adverse events with a physician before any further client."
        yield "Nothing further is planned with either way until that is decided."
        yield _HAND_ON
        return
    steps = {
        "G1": "Ask a second studio to repeat the comparison before anybody teaches it.",
        "G2": "Repeat with more clients, or pool with a colleague, to learn the size.",
        "G3": "Choose by cost or comfort, and put the next question.",
        "G4": "Keep to what you did before; plan a new study only if clients can be found soon.",
        "G5": "Choose by cost or comfort, and put the next question.",
        "G6": "Keep to what you did before; use these cases to plan a larger comparison.",
        "G7": "Review what happened before anything else is planned.",
        "G8": "Treat it as open; settle what the answer depends on, then repeat.",
    }
    yield steps[case]
    yield _HAND_ON


def running_lines(running: Running) -> Iterator[str]:
    """Say how a running study stands, with the arms hidden.

    Parameters
    ----------
    running : Running

    Yields
    ------
    str
    """
    yield f"Enrolled: {running.enrolled} of {running.planned}; asked: {running.asked}."
    yield f"Worked on: {running.treated}; main outcome complete: {running.with_primary}."
    yield from running.overdue
    for column, count in running.missing_values.items():
        yield f"Left out with a reason: {column}, {counted(count, 'time')}."
    yield from safety_lines(running.safety)
    yield from running.notes
