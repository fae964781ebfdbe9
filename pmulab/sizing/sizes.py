"""What a plan could show at each number of clients."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from pmulab.errors import UserError
from pmulab.estimate.independent.difference import FEWEST_A_GROUP
from pmulab.estimate.precision import (
    clients_for_half_width,
    expected_half_width,
    half_width_with_assurance,
    inflate_for_dropout,
)
from pmulab.estimate.shift import FEWEST_PAIRS
from pmulab.estimate.study_size import Design
from pmulab.findings import Effect
from pmulab.plan import Plan
from pmulab.sizing.chances import Chance, chances, clients_for_chance, fewest
from pmulab.sizing.earlier import spread_of

SIZES = (4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20, 24, 28, 32, 36, 40)
_WIDEST = 60
"""A spread of so many smallest worthwhile differences is a slip of the pen."""
_NARROWEST = 1 / 1000


@dataclass(frozen=True, slots=True)
class SizeRow:
    """What one size could show.

    Parameters
    ----------
    clients : int
        Clients in all (between clients: both arms together).
    half_width, assured : float or None
        Expected half-width of the 95 % interval, and the one kept with 80 % assurance, in the
        outcome's unit; None where so few clients get no interval.
    power : float or None
        Chance that the interval leaves out zero if the true difference is just the smallest
        worthwhile one; None where so few clients get no answer.
    exact_power : float or None
        The same by the sign-flip test; only for measures in numbers within one person.
    luck : float or None
        Where no result can reach 95 %: how often luck alone gives even the clearest.
    narrow_enough : bool
        Whether 'no worthwhile difference' could be said at all.
    """

    clients: int
    half_width: float | None
    assured: float | None
    power: float | None
    exact_power: float | None
    luck: float | None
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
        expected and with 80 % assurance; never fewer than can reach 95 % at all.
    by_power : int or None
        Clients for whom a true difference of just that size leaves zero outside the interval
        four times in five; None when it takes more pairs than can be searched.
    to_enrol, to_enrol_by_power : int, int or None
        `by_width` and `by_power` with the expected losses on top, rounded up to full blocks.
    """

    sd: float
    sd_source: str
    worthwhile: float
    unit: str
    rows: tuple[SizeRow, ...]
    by_width: int
    by_width_assured: int
    by_power: int | None
    to_enrol: int
    to_enrol_by_power: int | None

    def to_dict(self) -> dict[str, Any]:
        """Give the answer as plain data."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Needed:
    """Clients whose results are needed, and clients to enrol so that so many are left."""

    clients: int
    to_enrol: int


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

    Raises
    ------
    UserError
        If the spread is not positive, or does not fit the smallest worthwhile difference.
    """
    worthwhile = plan.primary.worthwhile
    if not _usable(sd, plan):
        raise UserError(
            f"A spread of {sd:g} cannot be used beside a smallest worthwhile difference of "
            f"{worthwhile:g}.",
            "Give a positive number in the unit of the main measure, e.g. --sd 2.0",
        )
    groups, design = _groups(plan), _design(plan)
    least = fewest(plan)
    by_width = groups * max(least, clients_for_half_width(worthwhile, sd, design))
    assured = groups * max(least, clients_for_half_width(worthwhile, sd, design, assurance=0.8))
    needed = clients_to_see(plan, sd)
    even = [n for n in numbers if n % groups == 0]
    found = chances(plan, sd, [n // groups for n in even])
    return Sizes(
        sd=sd,
        sd_source=source,
        worthwhile=worthwhile,
        unit="percentage points" if plan.primary.yes_no else plan.primary.unit,
        rows=tuple(_row(plan, sd, n, one) for n, one in zip(even, found, strict=True)),
        by_width=by_width,
        by_width_assured=assured,
        by_power=needed.clients if needed else None,
        to_enrol=_with_losses(plan, by_width),
        to_enrol_by_power=needed.to_enrol if needed else None,
    )


def clients_to_see(plan: Plan, sd: float) -> Needed | None:
    """Give the clients for whom a true difference that just matters is seen four times in five.

    Parameters
    ----------
    plan : Plan
    sd : float
        As for `sizes`.

    Returns
    -------
    Needed or None
        None when it takes more pairs than can be searched.
    """
    found = clients_for_chance(plan, sd)
    if found is None:
        return None
    clients = _groups(plan) * found
    return Needed(clients, _with_losses(plan, clients))


def clients_after(effect: Effect, plan: Plan) -> Needed | None:
    """Give the clients that a new study of an outcome would take, by the spread just seen.

    Parameters
    ----------
    effect : Effect
        Of any outcome of the plan.
    plan : Plan

    Returns
    -------
    Needed or None
        By the cautious limit that `spread_of` takes; None where no spread can be used.
    """
    asked = replace(plan, primary=effect.outcome)
    try:
        spread = spread_of(effect, asked).sd
    except UserError:
        return None
    return clients_to_see(asked, spread) if _usable(spread, asked) else None


def _usable(sd: float, plan: Plan) -> bool:
    worthwhile = plan.primary.worthwhile
    return _NARROWEST * worthwhile <= sd <= _WIDEST * worthwhile


def _row(plan: Plan, sd: float, clients: int, chance: Chance) -> SizeRow:
    n, design = clients // _groups(plan), _design(plan)
    least = FEWEST_PAIRS if plan.within_person else FEWEST_A_GROUP
    width = assured = None
    if plan.primary.yes_no or n >= least:
        width = expected_half_width(n, sd, design)
        assured = half_width_with_assurance(n, sd, design)
    return SizeRow(
        clients=clients,
        half_width=width,
        assured=assured,
        power=chance.power,
        exact_power=chance.exact,
        luck=chance.luck,
        narrow_enough=chance.power is not None
        and width is not None
        and width <= plan.primary.worthwhile,
    )


def _with_losses(plan: Plan, clients: int) -> int:
    block = 4 if plan.within_person else 2
    return -(-inflate_for_dropout(clients, plan.clients.dropout) // block) * block


def _groups(plan: Plan) -> int:
    return 1 if plan.within_person else 2


def _design(plan: Plan) -> Design:
    return "paired" if plan.within_person else "parallel"
