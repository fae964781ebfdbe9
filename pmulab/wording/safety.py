"""Adverse events in words: before any effect, and never surer than what was looked at."""

from collections.abc import Iterator

from pmulab.counting import counted
from pmulab.findings import Earlier, Findings, Safety
from pmulab.findings.pooled import HarmElsewhere
from pmulab.plan import Plan
from pmulab.wording.amounts import capital

RECORDS_SAY = "What the records say:"
"""Before the words of the stop rule, where the study was stopped already."""

KEEP_HARM = (
    "Never take a recorded event out and never make it milder: what happened stays written down."
)
"""Wherever a table of events has to be completed or put right."""


def stopped_words(day: str = "") -> str:
    """Say that a study was stopped, and that those who were worked on are seen again all the same.

    Parameters
    ----------
    day : str, default=''
        ISO 8601.

    Returns
    -------
    str
    """
    when = f" on {day}" if day else ""
    return (
        f"This study was stopped{when}; nobody else is worked on in it. Everybody who was worked "
        "on still gets her healed visit."
    )


def harm_lines(findings: Findings) -> Iterator[str]:
    """Say what went wrong in a study, before any effect.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
        As `safety_lines`, with the names of its ways.
    """
    stopped = bool(findings.provenance.stopped)
    yield from safety_lines(findings.safety, findings.plan, stopped=stopped)


def safety_lines(
    safety: Safety, plan: Plan | HarmElsewhere | None = None, *, stopped: bool = False
) -> Iterator[str]:
    """Say what went wrong, before any effect.

    Parameters
    ----------
    safety : Safety
    plan : Plan or HarmElsewhere, optional
        Names the ways. When given, an event on one eyelid is told with its arm.
    stopped : bool, default=False
        Whether the study was stopped.

    Yields
    ------
    str
    """
    yield from safety_heads(safety, stopped=stopped)
    for event in safety.events:
        serious = ", serious" if event.serious else ""
        named = plan is not None and event.arm in ("A", "B")
        where = f", {plan.arms.label(event.arm)}" if plan is not None and named else ""
        name = capital(event.event.replace("_", " "))
        yield f"{name} ({event.severity}{serious}{where}): {counted(event.clients, 'client')}."


def safety_heads(safety: Safety, *, stopped: bool = False) -> Iterator[str]:
    """Say what stands over the list of adverse events.

    Parameters
    ----------
    safety : Safety
    stopped : bool, default=False
        Whether the study was stopped.

    Yields
    ------
    str
        A pause, or its review, or that the study was stopped, first; then harm that vanished from
        the records; then of how many visits and clients harm is known at all; last how many
        clients had an event, or that none was seen.
    """
    if stopped:
        yield stopped_words()
        if safety.stop:
            yield f"{RECORDS_SAY} {safety.stop}"
    elif safety.stop:
        yield safety.earlier.reviewed or f"PAUSE NOW: {safety.stop}"
    yield from _vanished(safety.earlier)
    unsigned = safety.visits - safety.visits_signed
    if unsigned > 0:
        yield (
            f"{unsigned} of {counted(safety.visits, 'visit')}: neither an event nor a signed "
            "'none seen'."
        )
    yield from _known_of(safety)
    yield _events_head(safety) if safety.events else _no_event_words(safety)


def _vanished(earlier: Earlier) -> Iterator[str]:
    """Count what was recorded earlier and does not stand in the records as it was."""
    if earlier.gone:
        yield f"{_events(earlier.gone)} no longer in the records, without an explanation."
    if earlier.milder:
        yield f"{_events(earlier.milder)} told as milder now, without an explanation."
    if earlier.corrected:
        yield f"{_events(earlier.corrected)} taken out or made milder by a correction."


def _events(count: int) -> str:
    return counted(count, "earlier recorded event")


def _known_of(safety: Safety) -> Iterator[str]:
    """Say at each kind of visit of how many clients somebody looked for harm."""
    if not safety.treated or safety.clients_signed is None or safety.clients_healed is None:
        return
    treated, unseen = safety.treated, safety.treated - safety.clients_healed
    late = f" Of {counted(unseen, 'client')} late harm is not known." if unseen > 0 else ""
    yield (
        f"Looked for harm: on the day, signed for {safety.clients_signed} of "
        f"{counted(treated, 'client')}; when healed, {safety.clients_healed} of {treated} seen "
        f"(nothing is signed then).{late}"
    )


def _no_event_words(safety: Safety) -> str:
    if safety.earlier.recorded:
        return (
            "No other adverse event stands in the records; that does not say that there was none."
        )
    if safety.treated == 0:
        return "Nobody was worked on yet."
    signed = safety.treated if safety.clients_signed is None else safety.clients_signed
    if signed == 0:
        return (
            "No adverse event is recorded, but no client's visits are all signed: that says "
            "nothing yet."
        )
    if signed == safety.treated:
        return none_seen_words(counted(signed, "client"), safety.upper_limit)
    whose = f"the {signed} of {counted(safety.treated, 'client')} whose visits are all signed"
    return f"{none_seen_words(whose, safety.upper_limit)} Of the others nothing is known."


def none_seen_words(whom: str, upper_limit: float | None) -> str:
    """Say that no adverse event was seen, and how common one may be all the same.

    Parameters
    ----------
    whom : str
    upper_limit : float or None
        In [0, 1]; None where nothing limits it.

    Returns
    -------
    str
    """
    limit = 100 * upper_limit if upper_limit is not None else 100.0
    return (
        f"No adverse event was seen in {whom}; a true rate up to {limit:.0f} % would still fit "
        "that."
    )


def _events_head(safety: Safety) -> str:
    if safety.treated == 0:
        return (
            f"Nobody counts as worked on yet, but {counted(safety.with_event, 'client')} had an "
            "adverse event:"
        )
    apart = safety.not_treated_with_event
    beside = f", and {apart} without a card or a worked session" if apart else ""
    harmed = safety.with_event - apart
    return f"{harmed} of {counted(safety.treated, 'client')} had an adverse event{beside}:"
