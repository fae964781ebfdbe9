"""How many clients it takes, in words: what she needs first, the technical part apart."""

from collections.abc import Iterator, Sequence

from pmulab.counting import counted
from pmulab.estimate.power_mcnemar import MOST_PAIRS
from pmulab.plan import Plan
from pmulab.sizing import SizeRow, Sizes
from pmulab.wording.amounts import needed_words, with_unit
from pmulab.wording.few import fewest_words


def size_lines(found: Sizes, plan: Plan) -> Iterator[str]:
    """Say how many clients it takes if values spread so far, and what the planned number shows.

    Parameters
    ----------
    found : Sizes
    plan : Plan

    Yields
    ------
    str
    """
    matters = with_unit(found.worthwhile, plan.primary)
    yield f"If values spread by {_spread(found, plan)} ({found.sd_source}):"
    yield from (f"  {line}" for line in needed_lines(found, plan))
    row = next((row for row in found.rows if row.clients == plan.clients.planned), None)
    if row is not None:
        yield f"  Your plan, {counted(row.clients, 'client')}: {_planned(row, plan, matters)}"


def needed_lines(found: Sizes, plan: Plan) -> Iterator[str]:
    """Say how many clients it takes to see what matters, then to say how large it is.

    Parameters
    ----------
    found : Sizes
    plan : Plan

    Yields
    ------
    str
    """
    matters = with_unit(found.worthwhile, plan.primary)
    yield f"To see a true difference of {matters} four times in five: {_for_power(found)}."
    yield (
        f"To say how large it is, give or take {matters}: about "
        f"{counted(found.by_width, 'client')} ({found.by_width_assured} to be fairly sure of it); "
        f"with losses, enrol {found.to_enrol}."
    )


def guessed_lines(found: Sequence[Sizes], plan: Plan) -> Iterator[str]:
    """Say how many clients it takes for each of several guessed spreads, in a short table.

    Parameters
    ----------
    found : sequence of Sizes
    plan : Plan

    Yields
    ------
    str
    """
    matters = with_unit(found[0].worthwhile, plan.primary)
    yield f"Clients it takes to see a true difference of {matters} four times in five:"
    for one in found:
        yield f"  if values spread by {_spread(one, plan)}: {_for_power(one)}"
    yield (
        "The spread says how far one client usually lies from the average of all. None was given, "
        "so these are three guesses."
    )


def size_details(found: Sizes, plan: Plan) -> Iterator[str]:
    """Show what each number of clients could tell, as a table with its words explained.

    Parameters
    ----------
    found : Sizes
    plan : Plan

    Yields
    ------
    str
    """
    matters = with_unit(found.worthwhile, plan.primary)
    exact = any(row.exact_power is not None for row in found.rows)
    yield f"Each number of clients, if values spread by {_spread(found, plan)}:"
    yield f"{'clients':>8}  {'give or take':>12}  {'at most':>8}  {'seen':>5}" + (
        f"  {'counted':>7}" if exact else ""
    )
    yield from (_row(row, exact) for row in found.rows)
    yield (
        "Spread: the standard deviation. Give or take: how far the interval would reach to either "
        "side on average; at most: what four studies of five stay under."
    )
    yield (
        f"Seen: how often a true difference of {matters} would be seen, that is, the interval "
        "would leave out 'no difference' (statisticians call it power)."
    )
    if exact:
        yield (
            "Counted: the same, worked out from which way each client leans and how far (exact "
            "power). Plan with the smaller of the two."
        )


def _spread(found: Sizes, plan: Plan) -> str:
    return with_unit(float(f"{found.sd:.3g}"), plan.primary)


def _planned(row: SizeRow, plan: Plan, matters: str) -> str:
    if row.half_width is None or row.power is None:
        return f"too few for any answer, however large the difference. {fewest_words(plan)}"
    chance = row.power if row.exact_power is None else min(row.power, row.exact_power)
    width = with_unit(float(f"{row.half_width:.2g}"), plan.primary)
    return (
        f"the answer would be give or take {width}; a true difference of {matters} would be seen "
        f"{100 * chance:.0f} times in 100."
    )


def _row(row: SizeRow, exact: bool) -> str:
    width, assured = (
        "none" if value is None else f"{value:.2f}" for value in (row.half_width, row.assured)
    )
    seen = f"{_per_cent(row.power):>5}"
    powers = f"{seen}  {_per_cent(row.exact_power):>7}" if exact else seen
    return f"{row.clients:>8}  {width:>12}  {assured:>8}  {powers}{_why(row)}"


def _per_cent(value: float | None) -> str:
    return "none" if value is None else f"{value:.0%}"


def _why(row: SizeRow) -> str:
    if row.luck is not None:
        return (
            "   no 95 % answer is possible: even the clearest result comes by luck in "
            f"{100 * row.luck:.3g} of 100 studies"
        )
    if row.power is None:
        return "   too few to compare: no answer, whatever they show"
    return "" if row.narrow_enough else "   too wide to say 'no worthwhile difference'"


def _for_power(found: Sizes) -> str:
    if found.by_power is None:
        return f"more than {MOST_PAIRS} clients"
    return needed_words(found.by_power, found.to_enrol_by_power)
