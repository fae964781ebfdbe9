"""How many clients: what a comparison of this plan could show at each size."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from math import sqrt
from typing import Any

from pmulab.errors import UserError
from pmulab.estimate.power import clients_for_power, power_t
from pmulab.estimate.power_mcnemar import pairs_for_mcnemar_power, power_mcnemar
from pmulab.estimate.precision import (
    clients_for_half_width,
    expected_half_width,
    half_width_with_assurance,
    inflate_for_dropout,
    sd_upper_limit,
)
from pmulab.estimate.study_size import Design
from pmulab.plan import Plan

SIZES = (4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20, 24, 28, 32, 36, 40)
GUESSES = (0.5, 1.0, 2.0)
"""Spreads tried when none is known, as multiples of the smallest worthwhile difference."""
GUESSED_SHARES = (20.0, 35.0, 50.0)
"""The same for yes/no outcomes: per cent, as `sd_from_share` takes them."""
_WIDEST = 200
"""A spread of so many smallest worthwhile differences is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class SizeRow:
    """What one size could show.

    Parameters
    ----------
    clients : int
        Clients in all (between clients: both arms together).
    half_width, assured : float
        Expected half-width of the 95 % interval, and the one kept with 80 % assurance, in the
        outcome's unit.
    power : float
        Chance that the interval leaves out zero if the true difference is just the smallest
        worthwhile one.
    narrow_enough : bool
        Whether 'no worthwhile difference' could be said at all.
    """

    clients: int
    half_width: float
    assured: float
    power: float
    narrow_enough: bool


@dataclass(frozen=True, slots=True)
class Sizes:
    """The answer to 'how many clients'.

    Parameters
    ----------
    sd : float
        Spread used: of the differences within a client, or between the clients of an arm.
    sd_source : str
    worthwhile : float
    unit : str
    rows : sequence of SizeRow
    by_width, by_width_assured : int
        Clients for an interval no wider than plus or minus the smallest worthwhile difference,
        expected and with 80 % assurance.
    by_power : int
        Clients for whom a true difference of just that size leaves zero outside the interval
        four times in five.
    to_enrol : int
        `by_width` with the expected losses on top, rounded up to full blocks.
    """

    sd: float
    sd_source: str
    worthwhile: float
    unit: str
    rows: tuple[SizeRow, ...]
    by_width: int
    by_width_assured: int
    by_power: int
    to_enrol: int

    def to_dict(self) -> dict[str, Any]:
        """Give the answer as plain data."""
        return asdict(self)


def sizes(plan: Plan, sd: float, source: str, numbers: Sequence[int] = SIZES) -> Sizes:
    """Work out what the plan could show at each size.

    Parameters
    ----------
    plan : Plan
    sd : float
        Spread in the unit of the primary outcome (yes/no: percentage points); positive.
    source : str
        Where the spread comes from, in plain words.
    numbers : sequence of int
        Clients in all, at least 4 each.

    Returns
    -------
    Sizes
    """
    if not 0 < sd <= _WIDEST * plan.primary.worthwhile:
        raise UserError(
            f"A spread of {sd:g} cannot be used.",
            "Give a positive number in the unit of the main measure, e.g. --sd 2.0",
        )
    groups = 1 if plan.within_person else 2
    design: Design = "paired" if plan.within_person else "parallel"
    worthwhile = plan.primary.worthwhile
    by_width = groups * clients_for_half_width(worthwhile, sd, design)
    assured = groups * clients_for_half_width(worthwhile, sd, design, assurance=0.8)
    block = 4 if plan.within_person else 2
    losses = inflate_for_dropout(max(by_width, 6), plan.clients.dropout)
    return Sizes(
        sd=sd,
        sd_source=source,
        worthwhile=worthwhile,
        unit="percentage points" if plan.primary.yes_no else plan.primary.unit,
        rows=tuple(_row(plan, sd, n) for n in numbers if n % groups == 0),
        by_width=by_width,
        by_width_assured=assured,
        by_power=groups * _clients_for_power(plan, sd, design),
        to_enrol=-(-losses // block) * block,
    )


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
    """
    part, difference = share / 100, plan.primary.worthwhile / 100
    if not 0 < part < 1 or (plan.within_person and part < difference):
        raise UserError(
            f"A share of {share:g} % does not fit.",
            "Give per cent between 0 and 100, not below the smallest worthwhile difference.",
        )
    variance = part - difference**2 if plan.within_person else part * (1 - part)
    return 100 * sqrt(variance)


def cautious_sd(sd: float, n: int) -> float:
    """Give the upper 80 % limit of a spread that was measured on few clients.

    Parameters
    ----------
    sd : float
    n : int
        Clients it was measured on, at least 3.

    Returns
    -------
    float
    """
    if n < 3:
        raise UserError(f"{n} clients say nothing about a spread.", "Use at least three.")
    limit = sd_upper_limit(sd, n, level=0.8)
    if limit.interval is None:
        raise UserError(limit.note, "Measure on a finer scale, or rehearse with more clients.")
    return limit.interval.high


def _row(plan: Plan, sd: float, clients: int) -> SizeRow:
    design: Design = "paired" if plan.within_person else "parallel"
    n = clients if plan.within_person else clients // 2
    width = expected_half_width(n, sd, design)
    return SizeRow(
        clients=clients,
        half_width=width,
        assured=half_width_with_assurance(n, sd, design),
        power=_power(plan, sd, n, design),
        narrow_enough=width <= plan.primary.worthwhile,
    )


def _power(plan: Plan, sd: float, n: int, design: Design) -> float:
    if plan.primary.yes_no and plan.within_person:
        return power_mcnemar(n, *_discordant(plan, sd)).power
    return power_t(n, plan.primary.worthwhile / sd, design).power


def _clients_for_power(plan: Plan, sd: float, design: Design) -> int:
    if plan.primary.yes_no and plan.within_person:
        return pairs_for_mcnemar_power(*_discordant(plan, sd)).n
    return clients_for_power(plan.primary.worthwhile / sd, 0.8, design).n


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
    return (differ + difference) / 2, max(0.0, differ - difference) / 2
