"""Charts of consecutive clients in plain sentences, each sign with how often luck makes one."""

from collections.abc import Iterator

from pmulab.counting import counted
from pmulab.estimate.control_charts import SETTLED, Chart
from pmulab.plan import Outcome
from pmulab.practice import FEWEST_BASELINE, BeforeAfter, Line, Shares, Tuned, Watched
from pmulab.wording.amounts import capital, level_words, signed, span, with_unit
from pmulab.wording.cautions import CAUTIONS, INVENTED
from pmulab.wording.certainties import how_sure
from pmulab.wording.safety import none_seen_words
from pmulab.wording.signs import (
    SUM_NAME,
    alarm,
    known_of,
    listed,
    no_limits,
    of_hundred,
    provisional,
    sum_told,
)

_NOBODY_YET = "nobody to watch yet after the clients who made the limits."


def from_study_words(title: str, held_back: int) -> Iterator[str]:
    """Say that a series is a finished study, seen without its two ways.

    Parameters
    ----------
    title : str
    held_back : int
        Clients on the charts who did not agree to share their numbers.

    Yields
    ------
    str
    """
    yield (
        f"These are the clients of the study '{title}', both ways together. Which way did better, "
        "its own analysis tells; these charts do not."
    )
    if held_back:
        yield (
            f"Keep this page in the studio: it shows every client's own value, and "
            f"{counted(held_back, 'client')} on it did not agree to share their numbers."
        )


def practice_head(watched: Watched) -> Iterator[str]:
    """Say who is on the charts, and what went wrong, before anything else.

    Parameters
    ----------
    watched : Watched

    Yields
    ------
    str
    """
    if watched.invented:
        yield INVENTED
    days = f", from {watched.first} to {watched.last}" if watched.first else ""
    yield f"{capital(counted(watched.clients, 'client'))} in a row{days}."
    if watched.harmed:
        known = counted(watched.asked, "client")
        yield f"{watched.harmed} of {known} had an adverse event. {CAUTIONS[1]}"
    elif watched.asked:
        yield none_seen_words(counted(watched.asked, "client"), watched.upper_limit)
    silent = watched.clients - watched.asked
    if silent:
        yield f"Of {counted(silent, 'client')} it is not written down whether anything went wrong."
    for moment in watched.moments:
        day = f" ({moment.date})" if moment.date else ""
        yield f"Change from client {moment.client} on{day}: {moment.words}."


def line_lines(line: Line) -> Iterator[str]:
    """Say what the charts of a measured outcome show.

    Parameters
    ----------
    line : Line

    Yields
    ------
    str
        Run chart, limits, running sum, and every dated change.
    """
    yield f"{known_of(line.outcome, len(line.values), line.not_known)}{_middle(line)}"
    yield _run(line)
    yield _limits(line)
    yield _running_sum(line)
    for change in line.changes:
        yield change_words(change, line.outcome)


def shares_lines(shares: Shares) -> Iterator[str]:
    """Say what the monthly chart of a yes/no outcome shows.

    Parameters
    ----------
    shares : Shares

    Yields
    ------
    str
    """
    yes, seen = sum(shares.yes), sum(shares.seen)
    known = known_of(shares.outcome, seen, shares.not_known)
    yield f"{known} Yes: {yes}, counted month by month."
    first = shares.first
    limits = shares.limits
    if limits is None:
        yield no_limits(first)
    elif limits.centre is None:
        yield f"Monthly chart: {limits.note}"
    else:
        outside = [shares.months[place - 1] for place in limits.outside]
        told = f"Outside: {listed(outside)}." if outside else "No month lies outside."
        silent = _cannot_signal(limits)
        yield (
            f"Monthly chart: limits from {counted(first, 'client')}, "
            f"{100 * limits.centre:.0f} % yes. {told}{provisional(first)}{silent}"
            f"{alarm(shares.limits_alarms, 'a month outside')}"
        )
    yield _sum_of_answers(shares)
    for change in shares.changes:
        yield change_words(change, shares.outcome)


def change_words(change: BeforeAfter, outcome: Outcome) -> str:
    """Tell a change between before and after, with what else may have made it.

    Parameters
    ----------
    change : BeforeAfter
    outcome : Outcome

    Returns
    -------
    str
    """
    difference = change.difference
    at = f"{capital(outcome.title)}, before and after client {change.moment.client}"
    if difference.value is None:
        return f"{at}: {difference.note}"
    said = f"{at}: after the change the values were {signed(difference.value, outcome)}"
    if difference.interval is not None:
        level = level_words(difference.interval.level)
        said += f" ({level} interval: {span(difference.interval, outcome)})"
    counts = f" {counted(change.before.n, 'client')} before, {change.after.n} after."
    return (
        f"{said}.{counts} Other things also changed or may have; this alone does not show that the "
        f"change did it. {how_sure(change.certainty, change.reasons)}"
    )


def practice_fooled(watched: Watched) -> Iterator[str]:
    """Say what could fool us in these charts.

    Parameters
    ----------
    watched : Watched

    Yields
    ------
    str
    """
    if watched.moments:
        yield (
            "Nobody drew by lot who came before a change and who came after it. Season, batches, "
            "the mix of clients and your own skill moved on as well."
        )
        yield "A change made after a bad stretch is followed by better clients anyway."
        yield "Look at the line before the change: was it already going that way?"
    if watched.lids_mixed:
        yield "Work on different lids is mixed here: a shift may be a shift in the mix."
    unknown = [one.not_known for one in watched.lines] + [one.not_known for one in watched.shares]
    if any(unknown):
        yield "Whoever is not healed yet, or did not come back, is missing; she may differ."
    alarms = _alarms(watched)
    if len(alarms) > 1:
        yield (
            f"{len(alarms)} charts are looked at: in up to {of_hundred(min(sum(alarms), 1.0))} "
            "steady practices at least one of them shows a sign by luck."
        )
    yield (
        "Were level and spread known exactly, a client would fall outside the limits by luck once "
        f"in {watched.limits_run_length:.0f}, and the running sum would give a sign once in "
        f"{watched.cusum_run_length:.0f} clients. Limits from few clients do so more often. All of "
        "this supposes clients who do not depend on one another and values that scatter evenly."
    )


def practice_next(watched: Watched) -> Iterator[str]:
    """Say what to do next.

    Parameters
    ----------
    watched : Watched

    Yields
    ------
    str
    """
    yield "A sign asks you to look: what was different from then on? It is no reason by itself."
    yield "To learn whether a change did it, compare it by lot (notebook 01)."
    if watched.clients < SETTLED:
        yield f"Go on writing down every client: limits settle at about {SETTLED}."


def _middle(line: Line) -> str:
    if line.run.median is None:
        return ""
    return f" The middle value (median) is {with_unit(line.run.median, line.outcome)}."


def _run(line: Line) -> str:
    run = line.run
    if run.signal is None:
        return f"Run chart: {run.note}"
    head = "a sign of a lasting shift" if run.signal else "no sign of a lasting shift"
    return (
        f"Run chart: {head}. The longest run on one side of the median has {run.longest_run} "
        f"clients (a sign: more than {run.longest_allowed}); the line crosses it {run.crossings} "
        f"times (a sign: fewer than {run.fewest_allowed}).{alarm(line.run_alarms, 'such a sign')}"
    )


def _limits(line: Line) -> str:
    limits = line.limits
    if limits is None:
        return no_limits(line.baseline)
    if limits.centre is None:
        return f"Limits: none. {limits.note}"
    low, high = max(limits.lower[0], line.outcome.low), min(limits.upper[0], line.outcome.high)
    outside = [f"client {line.clients[place - 1]}" for place in limits.outside]
    told = f"Outside: {listed(outside)}." if outside else "No client lies outside."
    return (
        f"Limits from the first {counted(line.baseline, 'client')}: {low:.1f} to {high:.1f} "
        f"{line.outcome.unit}, around an average of {limits.centre:.1f}. {told}"
        f"{provisional(line.baseline)}{alarm(line.limits_alarms, 'a client outside')}"
    )


def _running_sum(line: Line) -> str:
    if line.limits is None or line.limits.centre is None:
        return f"{SUM_NAME}: none without limits."
    if line.cusum is None:
        return f"{SUM_NAME}: {_NOBODY_YET}"
    sides = ("the values lie higher", "the values lie lower")
    first = f"the first {counted(line.baseline, 'client')}"
    told = sum_told(line.cusum, line.clients[line.baseline :], sides, first)
    return f"{SUM_NAME}: {told}{alarm(line.cusum_alarms, 'such a sign')}"


def _sum_of_answers(shares: Shares) -> str:
    name = f"{SUM_NAME}, client by client"
    if shares.cusum is None:
        enough = shares.first >= FEWEST_BASELINE
        return f"{name}: {_NOBODY_YET if enough else 'none without limits.'}"
    sides = ("yes is more common", "yes is less common")
    told = sum_told(
        shares.cusum, shares.sum_clients, sides, f"the first {counted(shares.first, 'client')}"
    )
    return f"{name}: {told}{_slow(shares.tuned)}{alarm(shares.cusum_alarms, 'such a sign')}"


def _slow(tuned: Tuned | None) -> str:
    if tuned is None:
        return ""
    return (
        f" A lasting rise to {100 * tuned.raised:.0f} % yes would show after about "
        f"{tuned.found_after:.0f} clients on average: a share comes into sight slowly."
    )


def _cannot_signal(limits: Chart) -> str:
    """Say of how many months the limits leave room for any share."""
    deaf = sum(low <= 0 and high >= 1 for low, high in zip(limits.lower, limits.upper, strict=True))
    if not deaf:
        return ""
    return (
        f" In {deaf} of {limits.n} periods so few clients were seen that no share at all could "
        "fall outside."
    )


def _alarms(watched: Watched) -> list[float]:
    found = [
        *(one for line in watched.lines for one in (
            line.run_alarms, line.limits_alarms, line.cusum_alarms
        )),
        *(one for shares in watched.shares for one in (
            shares.limits_alarms, shares.cusum_alarms
        )),
    ]  # fmt: skip
    return [one for one in found if one is not None]
