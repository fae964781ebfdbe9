"""How far values spread: guessed, from a share, or with the caution that few clients ask for."""

from math import sqrt

from pmulab.counting import counted
from pmulab.errors import UserError
from pmulab.estimate.precision import sd_upper_limit
from pmulab.estimate.proportions import exact_proportion
from pmulab.plan import Plan

GUESSES = (0.5, 1.0, 2.0)
"""Spreads tried when none is known, as multiples of the smallest worthwhile difference."""
GUESSED_SHARES = (20.0, 35.0, 50.0)
"""The same for yes/no outcomes: per cent, as `sd_from_share` takes them."""
CAUTION = 0.8
"""A cautious limit holds four times in five."""
FEWEST = 3
_HALF = 50.0


def guesses(plan: Plan) -> tuple[float, ...]:
    """Give spreads to show when none is known.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of float
        Three, from narrow to wide, in the unit of the primary outcome.
    """
    worthwhile = plan.primary.worthwhile
    if not plan.primary.yes_no:
        return tuple(guess * worthwhile for guess in GUESSES)
    shares = (max(share, worthwhile) for share in GUESSED_SHARES)
    return tuple(sd_from_share(plan, min(share, 99.0)) for share in dict.fromkeys(shares))


def sd_from_share(plan: Plan, share: float) -> float:
    """Give the spread of a yes/no outcome from one share.

    Parameters
    ----------
    plan : Plan
    share : float
        Per cent: of clients whose two eyelids are expected to differ (within one person), or of
        'yes' with the usual way (between clients).

    Returns
    -------
    float
        In percentage points.

    Raises
    ------
    UserError
        If the share lies outside 0 to 100, or no worthwhile difference could be seen with it.
    """
    part, difference = share / 100, plan.primary.worthwhile / 100
    variance = part - difference**2 if plan.within_person else part * (1 - part)
    fits = 0 < part <= 1 and variance > 0
    if not fits or (plan.within_person and part < difference):
        raise UserError(
            f"A share of {share:g} % does not fit.",
            "Give per cent between 0 and 100, not below the smallest worthwhile difference.",
        )
    return 100 * sqrt(variance)


def cautious_sd(sd: float, n: int) -> float:
    """Give the upper 80 % limit of a spread that was measured on few clients.

    Parameters
    ----------
    sd : float
        Not negative.
    n : int
        Clients it was measured on, at least 3.

    Returns
    -------
    float

    Raises
    ------
    UserError
        If the clients are too few, or all gave the same value.
    """
    _refuse_few(n)
    limit = sd_upper_limit(sd, n, level=CAUTION)
    if limit.interval is None:
        raise UserError(limit.note, "Measure on a finer scale, or rehearse with more clients.")
    return limit.interval.high


def cautious_share(plan: Plan, yes: int, n: int) -> float:
    """Give the cautious 80 % limit of a share that was counted on few clients.

    The limit is that of Clopper and Pearson, which holds at least four times in five whatever
    the true share is. Wilson's is shorter but trusts a count of 0 too far: after 0 of 8 it says
    8 %, Clopper and Pearson 18 %; a plan that rests on the former may come out far too small.

    Parameters
    ----------
    plan : Plan
    yes, n : int
        Clients whose two eyelids differed (within one person) or who had a 'yes' (between
        clients), and all clients they were counted on, at least 3.

    Returns
    -------
    float
        Per cent. Within one person the upper limit, at least the smallest worthwhile difference:
        a true difference of so much needs so many clients who differ. Between clients the limit
        towards 50 %, where yes and no spread most.

    Raises
    ------
    UserError
        If the clients are too few.
    """
    _refuse_few(n)
    limits = exact_proportion(yes, n, level=2 * CAUTION - 1).interval
    if limits is None:
        raise ValueError(f"no limits for {yes} of {n}")
    low, high = 100 * limits.low, 100 * limits.high
    if plan.within_person:
        return max(high, plan.primary.worthwhile)
    return min(max(_HALF, low), high)


def _refuse_few(n: int) -> None:
    if n < FEWEST:
        said = f"{counted(n, 'client')} {'says' if n == 1 else 'say'} nothing about a spread."
        raise UserError(said, "Use at least three.")
