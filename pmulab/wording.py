"""Findings in plain sentences.

Whatever the kit says about a comparison is said here, so that command, notebook, handout and
slides use the same words. Cases and their order follow one rule: the interval is read against
the smallest worthwhile difference, on unrounded numbers.
"""

from collections.abc import Iterator

from pmulab.findings import Effect, Estimate, Findings, Flow, Interval, Running, Safety, Test
from pmulab.plan import Outcome, Plan

_SAME = "about the same"
CLOSING = "A studio's own comparison, not medical or product advice."
INVENTED = "Invented data for demonstration: no such clients exist."
CAUTIONS = (
    "This is no medical advice. Local codes, licence, insurance and the client's consent come "
    "first; the client's physician overrides everything said here.",
    "Eyelid work lies beside the eye. Stop and refer at once on eye pain, changed vision, "
    "suspected injury of the cornea, infection or an allergic reaction. Numbing can mask pain.",
    "Visible capillaries along the lash line and carbon-based pigment of low density do not go "
    "together: iron-oxide pigment or decline (common practice, no source).",
    "A comparison never decides what is safe for a client. Who should not be treated is not "
    "treated, and not enrolled.",
    "Publishing beyond the study group may need an ethics review.",
)


def decimals(outcome: Outcome, *values: float) -> int:
    """Choose the decimals that the measure deserves.

    Parameters
    ----------
    outcome : Outcome
    *values : float
        Numbers that must not look equal to 0 or to the smallest worthwhile difference when
        they are not.

    Returns
    -------
    int
        Whole per cents; otherwise about a tenth of the smallest worthwhile difference.
    """
    places = 0 if outcome.yes_no else 1 if outcome.worthwhile >= 1 else 2
    edges = (0.0, outcome.worthwhile, -outcome.worthwhile)
    while places < 4 and any(
        round(value, places) == round(edge, places) and value != edge
        for value in values
        for edge in edges
        if abs(value - edge) > 1e-9
    ):
        places += 1
    return places


def level_words(level: float) -> str:
    """Say a confidence level, e.g. '95 %' or '93.75 %'."""
    return f"{100 * level:.4g} %"


def span(interval: Interval, outcome: Outcome) -> str:
    """Say an interval of a difference in words.

    Parameters
    ----------
    interval : Interval
    outcome : Outcome

    Returns
    -------
    str
        '2.0 to 4.4 min lower', or 'from 1.2 lower to 0.1 higher'.
    """
    low, high = interval.low, interval.high
    places = decimals(outcome, low, high)
    unit = unit_of(outcome)
    if low < 0 < high:
        return f"from {_amount(low, places)} {unit} lower to {_amount(high, places)} {unit} higher"
    word = "lower" if high <= 0 and low < 0 else "higher"
    near, far = sorted((abs(low), abs(high)))
    return f"{_amount(near, places)} to {_amount(far, places)} {unit} {word}"


def unit_of(outcome: Outcome) -> str:
    """Give the unit of a difference: percentage points for yes/no outcomes."""
    return "percentage points" if outcome.yes_no else outcome.unit


def with_unit(value: float, outcome: Outcome) -> str:
    """Say an amount with its unit, one in the singular: '2 min', '1 grade'."""
    unit = unit_of(outcome)
    first, space, rest = unit.partition(" ")
    if value == 1 and first.endswith("s"):
        unit = first.removesuffix("s") + space + rest
    return f"{value:g} {unit}"


def difference_words(effect: Effect, plan: Plan) -> str:
    """Say the difference with its interval, first thing.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    str
    """
    estimate = effect.difference
    label_a, label_b = plan.arms.A.label, plan.arms.B.label
    title = capital(effect.outcome.title)
    if estimate.value is None:
        return f"{title}: no comparison. {estimate.note}"
    size = _signed(estimate.value, effect.outcome)
    joined = "as" if size == _SAME else "than"
    said = (
        f"{title}: {size} with {label_a} {joined} with {label_b}, "
        f"on average over {estimate.n} clients"
    )
    if estimate.interval is None:
        return f"{said}. {estimate.note}"
    level = level_words(estimate.interval.level)
    return f"{said} ({level} interval: {span(estimate.interval, effect.outcome)})."


def finding(effect: Effect, plan: Plan) -> str:
    """Say what the comparison found, in the words of its case.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    str
        The difference with its interval, then its reading against the smallest worthwhile
        difference.
    """
    return f"{difference_words(effect, plan)} {_reading(effect, plan)}"


def _reading(effect: Effect, plan: Plan) -> str:
    verdict, outcome = effect.verdict, effect.outcome
    matters = with_unit(outcome.worthwhile, outcome)
    favoured = plan.arms.label(verdict.favours) if verdict.favours else ""
    sentences = {
        "G1": f"This favours {favoured}. Even the cautious end is more than the {matters} that "
        "we had said would matter.",
        "G2": f"{capital(favoured)} probably did better, but how much is open: the interval "
        f"reaches from too small to matter to more than the {matters} that would.",
        "G3": f"Any average difference is likely smaller than the {matters} that would matter: "
        "for this outcome choose by cost or comfort.",
        "G4": f"We cannot tell.{_needed(effect)}",
        "G5": f"A small difference, less than the {matters} that matter: for this outcome "
        "choose by cost or comfort.",
        "G6": "Too few to compare; here is what was seen.",
        "G7": "The study was stopped early; the numbers describe what happened and should not "
        "be used to compare.",
        "G8": f"The answer depends on {verdict.depends_on}; we treat it as unclear.",
    }
    return sentences[verdict.case]


def _needed(effect: Effect) -> str:
    needed = effect.verdict.clients_needed
    if needed is None:
        return ""
    return f" About {needed} clients would be needed for a clear answer."


MEANING = {
    "G1": (
        "With a similar mix of clients, this studio would expect a difference that matters.",
        "It does not mean that every client gains, nor that another studio would see the same.",
    ),
    "G2": (
        "One way did better on average, but the size is open.",
        "It does not mean that the difference is large enough to change anything.",
    ),
    "G3": (
        "If there is a difference, it is likely too small to matter here.",
        "It does not mean that the two ways are the same for every client.",
    ),
    "G4": (
        "The data fit a difference that matters and none as well.",
        "It does not mean that there is no difference.",
    ),
    "G5": (
        "There is likely a difference, but a small one.",
        "It does not mean that it is worth a change.",
    ),
    "G6": (
        "This is a description of what was seen.",
        "It is no comparison, however large the difference looks.",
    ),
    "G7": (
        "The study ended for a reason that matters more than the comparison.",
        "The difference seen so far is not a finding.",
    ),
    "G8": (
        "Two fair ways of looking at the data disagree.",
        "It does not mean that the more welcome one may be chosen.",
    ),
}
"""For each case: what it means, and what it does not mean."""


def certainty(effect: Effect) -> str:
    """Say how sure, and why no surer.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    str
    """
    verdict = effect.verdict
    because = "; ".join(verdict.reasons)
    return f"How sure: {verdict.certainty}" + (f" ({because})." if because else ".")


def details(effect: Effect, plan: Plan) -> Iterator[str]:
    """Say what stands beside the difference, in its fixed order.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Yields
    ------
    str
        Standardised difference, counts of clients, adjusted estimate, correlation, missing
        results, and for the primary outcome one p-value, last.
    """
    yield from _remarks(effect)
    if effect.standardised is not None:
        yield _standardised(effect.standardised)
    if effect.counts is not None:
        label_a, label_b = plan.arms.A.label, plan.arms.B.label
        counts = effect.counts
        yield (
            f"Clients who did better with {label_a}: {counts.a_better}; with {label_b}: "
            f"{counts.b_better}; the same: {counts.equal}."
        )
    yield from _adjusted(effect)
    if effect.missing.n:
        yield from _missing(effect)
    if effect.test is not None:
        yield p_words(effect.test)


def _remarks(effect: Effect) -> Iterator[str]:
    """Say what the estimator noticed in the data, with the typical difference beside it."""
    if effect.difference.interval is None or not effect.difference.note:
        return
    yield effect.difference.note
    typical = effect.typical
    if typical is not None and typical.value is not None and typical.interval is not None:
        yield (
            f"Typical difference: {_signed(typical.value, effect.outcome)} "
            f"({level_words(typical.interval.level)} interval: "
            f"{span(typical.interval, effect.outcome)})."
        )


def _standardised(estimate: Estimate) -> str:
    if estimate.value is None:
        return f"In standard deviations: none. {estimate.note}"
    said = f"In standard deviations: {estimate.value:+.2f}"
    if estimate.interval is None:
        return f"{said}. {estimate.note}"
    interval = estimate.interval
    level = level_words(interval.level)
    return f"{said} ({level} interval {interval.low:+.2f} to {interval.high:+.2f})."


def _adjusted(effect: Effect) -> Iterator[str]:
    if effect.adjusted is None:
        return
    estimate, outcome = effect.adjusted.difference, effect.outcome
    if estimate.value is None or estimate.interval is None:
        yield f"Freed of working order and side: none. {estimate.note}"
        return
    yield (
        f"Freed of working order and side: {_signed(estimate.value, outcome)} "
        f"({level_words(estimate.interval.level)} interval: {span(estimate.interval, outcome)})."
    )
    order = effect.adjusted.order
    if order.value is not None and abs(order.value) >= outcome.worthwhile / 4:
        second = -2 * order.value
        places = decimals(outcome)
        yield (
            f"Working order mattered: the second eyelid came out about "
            f"{_amount(second, places)} {unit_of(outcome)} {'higher' if second > 0 else 'lower'}."
        )


def _missing(effect: Effect) -> Iterator[str]:
    missing = effect.missing
    reasons = f" ({'; '.join(missing.reasons)})" if missing.reasons else ""
    yield f"Clients without a usable result: {missing.n}{reasons}."
    if missing.low is None or missing.high is None or missing.limit is None:
        return
    bounds = [one.value for one in (missing.low, missing.high) if one.value is not None]
    if len(bounds) == 2:
        places = decimals(effect.outcome)
        unit = unit_of(effect.outcome)
        yield (
            f"Had they differed by {with_unit(missing.limit, effect.outcome)} either way, "
            f"the average would lie between {bounds[0]:+.{places}f} and "
            f"{bounds[1]:+.{places}f} {unit}"
            + (", and the answer would change." if missing.flips else "; the answer would stand.")
        )


def p_words(test: Test) -> str:
    """Say the one p-value, never alone and with what it could have been."""
    if test.p is None:
        return f"No p-value: {test.note}"
    said = f"p = {_p_number(test.p)} ({test.method}"
    if test.smallest_p is not None:
        said += f"; the smallest that this schedule allows is {_p_number(test.smallest_p)}"
    return said + "). It does not say how large or how likely the difference is."


def safety_lines(safety: Safety, plan: Plan | None = None) -> Iterator[str]:
    """Say what went wrong, before any effect.

    Parameters
    ----------
    safety : Safety
    plan : Plan, optional
        When given, an event on one eyelid is told with its arm.

    Yields
    ------
    str
    """
    if safety.stop:
        yield f"PAUSE NOW: {safety.stop}"
    unsigned = safety.visits - safety.visits_signed
    if unsigned > 0:
        yield f"{unsigned} of {safety.visits} visits: neither an event nor a signed 'none seen'."
    if safety.treated == 0:
        yield "Nobody was worked on yet."
    elif not safety.events:
        limit = 100 * safety.upper_limit if safety.upper_limit is not None else 100.0
        yield (
            f"No adverse event was seen in {safety.treated} clients; a true rate up to "
            f"{limit:.0f} % would still fit that."
        )
    else:
        yield f"{safety.with_event} of {safety.treated} clients had an adverse event:"
        for event in safety.events:
            serious = ", serious" if event.serious else ""
            clients = "client" if event.clients == 1 else "clients"
            named = plan is not None and event.arm in ("A", "B")
            where = f", {plan.arms.label(event.arm)}" if plan is not None and named else ""
            name = capital(event.event.replace("_", " "))
            yield f"{name} ({event.severity}{serious}{where}): {event.clients} {clients}."


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
    lost = f" ({'; '.join(flow.lost_reasons)})" if flow.lost_reasons else ""
    yield f"Healed result seen: {flow.seen_healed}{lost}."
    yield f"In the main comparison: {flow.analysed} clients, {flow.eyelids_analysed} eyelids."


def fooled_lines(findings: Findings) -> Iterator[str]:
    """Say what could fool us in these findings.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
    """
    plan, provenance = findings.plan, findings.provenance
    yield from plan_state(findings)
    yield from provenance.tampering
    yield from provenance.looks
    if provenance.stopped:
        yield f"The study was stopped early: {provenance.stopped}"
    if plan.primary.judged == "open":
        yield "The main outcome was judged by someone who knew which way was which."
    elif plan.primary.judged == "measured":
        yield "Whoever worked knew which way was which, and may have worked with more care on one."
    if not plan.primary.worthwhile_own:
        yield (
            "The smallest worthwhile difference is the suggested value; it was not confirmed as "
            "this studio's own."
        )
    if plan.within_person:
        yield "What is done to one eyelid may have reached the other; the data cannot show that."
    if findings.secondary:
        yield (
            f"{len(findings.secondary)} further outcomes are exploratory: the more one looks at, "
            "the likelier a difference by luck."
        )
    yield "One studio, few clients, one operator: another hand may find something else."


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
        yield f"plan.toml was edited after locking ({change}). The locked plan was analysed."


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
    if findings.safety.stop:
        yield "Clear up the adverse events with a physician before any further client."
    steps = {
        "G1": "Ask a second studio to repeat the comparison before anybody teaches it.",
        "G2": "Repeat with more clients, or pool with a colleague, to learn the size.",
        "G3": "Choose by cost or comfort, and put the next question.",
        "G4": "Keep to the usual way; go on only if the clients needed can be found in good time.",
        "G5": "Choose by cost or comfort, and put the next question.",
        "G6": "Keep to the usual way; use these cases to plan a larger comparison.",
        "G7": "Review what happened before anything else is planned.",
        "G8": "Treat it as open; settle what the answer depends on, then repeat.",
    }
    yield steps[case]
    yield "Put the finding into the group's folder, whatever it says."


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
        yield f"Left out with a reason: {column}, {count} times."
    yield from safety_lines(running.safety)
    yield from running.notes


def capital(text: str) -> str:
    """Begin a text with a capital letter, leaving the rest as it is."""
    return text[:1].upper() + text[1:]


def _signed(value: float, outcome: Outcome) -> str:
    places = decimals(outcome)
    if round(value, places) == 0:
        return _SAME
    word = "lower" if value < 0 else "higher"
    return f"{_amount(value, places)} {unit_of(outcome)} {word}"


def _amount(value: float, places: int) -> str:
    return f"{abs(value):.{places}f}"


def _p_number(p: float) -> str:
    return f"{p:.3f}" if p >= 0.001 else f"{p:.5f}" if p >= 0.00001 else f"{p:.1e}"


def difference_parts(effect: Effect) -> tuple[str, str]:
    """Say the difference and its interval as two short phrases, for pictures.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    tuple of (str, str)
        'with A 3.2 min lower' and '95 % interval: 2.0 to 4.4 min lower'; the note for what
        does not exist.
    """
    estimate = effect.difference
    if estimate.value is None:
        return "no difference can be given", estimate.note
    size = f"with A {_signed(estimate.value, effect.outcome)}"
    if estimate.interval is None:
        return size, estimate.note
    level = level_words(estimate.interval.level)
    return size, f"{level} interval: {span(estimate.interval, effect.outcome)}"


_JUDGED = {
    "measured": "by clock, ruler or count",
    "blind": "by someone who did not know which way was which",
    "open": "by someone who knew which way was which",
}


def judged_words(outcome: Outcome) -> str:
    """Say who judged an outcome, or what measured it."""
    return _JUDGED[outcome.judged]


def when_words(outcome: Outcome, plan: Plan) -> str:
    """Say when an outcome is recorded."""
    if outcome.table == "sessions":
        return "on the day"
    healed = plan.healed
    return f"healed, day {healed.planned_day} ({healed.earliest} to {healed.latest})"


def method_lines(plan: Plan) -> Iterator[str]:
    """Say how the comparison was made, as it was planned.

    Parameters
    ----------
    plan : Plan

    Yields
    ------
    str
    """
    lid, outcome = plan.study.lid, plan.primary
    if plan.within_person:
        yield (
            f"Each client had both ways, one on each {lid} eyelid. Which side had which, and "
            "which eyelid came first, was drawn by lot."
        )
    else:
        yield f"Each client had one way on both {lid} eyelids, drawn by lot."
    yield (
        f"Main measure: {outcome.title} ({outcome.unit}), {when_words(outcome, plan)}, judged "
        f"{judged_words(outcome)}; {outcome.better} is better."
    )
    yield (
        f"Said beforehand to matter: {with_unit(outcome.worthwhile, outcome)} or "
        f"more. Planned: {plan.clients.planned} clients."
    )


def direction_words(outcome: Outcome) -> tuple[str, str]:
    """Say what a negative and a positive difference A - B mean for the client."""
    return (
        ("better with A", "better with B")
        if outcome.better == "lower"
        else ("better with B", "better with A")
    )
