"""How often a true difference would be seen: power of the test that a plan's analysis rests on."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import comb, sqrt

from pmulab.errors import UserError
from pmulab.estimate.power import Power, clients_for_power, power_t
from pmulab.estimate.power_mcnemar import pairs_for_mcnemar_power, power_mcnemar
from pmulab.estimate.power_proportions import clients_for_two_proportions, power_two_proportions
from pmulab.estimate.power_signflip import power_signflip
from pmulab.findings import FEWEST_CLIENTS
from pmulab.plan import Plan

WANTED = 0.8
ALPHA = 0.05
_COUNTED = tuple(range(4, 15))
"""Clients for whom every pattern of signs is counted, where the two tests still part."""
_ERROR = 0.005
"""Error left in a simulated power."""


@dataclass(frozen=True, slots=True)
class Chance:
    """How often a true difference of just the worthwhile size would be seen.

    Parameters
    ----------
    power : float or None
        In [0, 1]; None when so few clients get no answer, whatever they show.
    exact : float or None
        The same by the sign-flip test, for measures in numbers within one person.
    luck : float or None
        When no result of so few clients can reach 95 %: how often luck alone gives even the
        clearest, above 0.05.
    """

    power: float | None
    exact: float | None = None
    luck: float | None = None


def chances(plan: Plan, sd: float, numbers: Sequence[int]) -> tuple[Chance, ...]:
    """Give the chance of seeing the worthwhile difference at each size.

    Parameters
    ----------
    plan : Plan
    sd : float
        Spread in the unit of the primary outcome (yes/no: percentage points).
    numbers : sequence of int
        Clients (within one person) or clients in each arm; 2 or more.

    Returns
    -------
    tuple of Chance

    Raises
    ------
    UserError
        If spread and worthwhile difference of a yes/no outcome cannot go together.
    """
    return tuple(
        one if n >= FEWEST_CLIENTS else replace(one, power=None, exact=None)
        for n, one in zip(numbers, _by_test(plan, sd, numbers), strict=True)
    )


def _by_test(plan: Plan, sd: float, numbers: Sequence[int]) -> tuple[Chance, ...]:
    if plan.primary.yes_no:
        return tuple(_of_exact_test(_yes_no_power(plan, sd, n)) for n in numbers)
    effect = plan.primary.worthwhile / sd
    if not plan.within_person:
        return tuple(_between(n, effect) for n in numbers)
    flips = dict(zip(numbers, power_signflip(tuple(numbers), effect), strict=True))
    return tuple(_within(n, effect, flips[n]) for n in numbers)


def clients_for_chance(plan: Plan, sd: float) -> int | None:
    """Give the clients for whom the worthwhile difference is seen four times in five.

    Parameters
    ----------
    plan : Plan
    sd : float
        As in `chances`.

    Returns
    -------
    int or None
        Clients, or clients in each arm; None when it takes more pairs than can be searched.
    """
    if plan.primary.yes_no and plan.within_person:
        try:
            return pairs_for_mcnemar_power(*_discordant(plan, sd), WANTED).n
        except ValueError:  # more pairs than it searches
            return None
    if plan.primary.yes_no:
        usual, others = _shares(plan, sd)
        found = (clients_for_two_proportions(usual, other, WANTED).n for other in others)
        return max(fewest(plan), *found)
    effect = plan.primary.worthwhile / sd
    n = clients_for_power(effect, WANTED, "paired" if plan.within_person else "parallel").n
    return _kept_by_signs(n, effect) if plan.within_person else max(n, fewest(plan))


def fewest(plan: Plan) -> int:
    """Give the fewest clients (or clients in each arm) of whom an analysis gives an answer.

    Fewer are only described: see `findings.FEWEST_CLIENTS`; or no result of them reaches 95 %.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    int
    """
    return max(FEWEST_CLIENTS, _fewest_by_test(plan))


def _fewest_by_test(plan: Plan) -> int:
    if plan.within_person:
        return next(n for n in range(2, 20) if 2 / 2**n <= ALPHA)
    if plan.primary.yes_no:
        return next(n for n in range(2, 20) if not power_two_proportions(n, 1.0, 0.0).note)
    return next(n for n in range(2, 20) if _label_luck(n) <= ALPHA)


def _kept_by_signs(n: int, effect: float) -> int:
    """Add clients where the sign-flip test, which the interval holds too, still asks for more."""
    if n > _COUNTED[-1]:
        return n
    found = power_signflip(_COUNTED, effect)
    enough = (one.n for one in found if one.n >= n and one.power >= WANTED - _ERROR)
    return next(enough, _COUNTED[-1] + 1)


def _within(n: int, effect: float, flips: Power) -> Chance:
    if flips.note:
        return Chance(None, luck=flips.smallest_p)
    return Chance(power_t(n, effect).power, flips.power)


def _between(n: int, effect: float) -> Chance:
    if _label_luck(n) > ALPHA:
        return Chance(None, luck=_label_luck(n))
    return Chance(power_t(n, effect, "parallel").power)


def _label_luck(n: int) -> float:
    """Smallest p when two arms of n clients are relabelled in every way."""
    return 2 / comb(2 * n, n)


def _of_exact_test(found: Power) -> Chance:
    if found.smallest_p is not None and found.smallest_p > ALPHA:
        return Chance(None, luck=found.smallest_p)
    return Chance(found.power)


def _yes_no_power(plan: Plan, sd: float, n: int) -> Power:
    if plan.within_person:
        return power_mcnemar(n, *_discordant(plan, sd))
    usual, others = _shares(plan, sd)
    found = (power_two_proportions(n, usual, other) for other in others)
    return min(found, key=lambda one: one.power)


def _discordant(plan: Plan, sd: float) -> tuple[float, float]:
    """Give the shares of clients with 'yes' under one arm only that spread and difference imply."""
    difference = plan.primary.worthwhile / 100
    differ = (sd / 100) ** 2 + difference**2
    if not difference <= differ + 1e-12 <= 1 + 1e-9:
        raise UserError(
            f"A spread of {sd:g} percentage points cannot go with a difference of "
            f"{plan.primary.worthwhile:g}.",
            "Give --share instead: per cent of clients whose two eyelids would differ.",
        )
    differ = min(1.0, differ)
    return (differ + difference) / 2, max(0.0, differ - difference) / 2


def _shares(plan: Plan, sd: float) -> tuple[float, tuple[float, ...]]:
    """Give the usual way's share of yes, at most a half, and what it could change to.

    The spread is the same for a share and for what is missing to 100 %, and so is the power; the
    difference may go either way, and the harder way to see counts.
    """
    difference, variance = plan.primary.worthwhile / 100, (sd / 100) ** 2
    usual = (1 - sqrt(max(0.0, 1 - 4 * variance))) / 2
    others = (usual - difference, usual + difference)
    possible = tuple(min(1.0, max(0.0, one)) for one in others if -1e-9 <= one <= 1 + 1e-9)
    if variance > 0.25 + 1e-9 or not possible:
        raise UserError(
            f"A spread of {sd:g} percentage points cannot go with a difference of "
            f"{plan.primary.worthwhile:g}.",
            "Give --share instead: per cent of yes with the usual way.",
        )
    return usual, possible
