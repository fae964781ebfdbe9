"""What looking before the end costs: the level of the intervals, and the test that counts looks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import comb

from pmulab.analysis.effects import Comparison
from pmulab.analysis.values import Case
from pmulab.estimate import looks, looks_signflip, sequential
from pmulab.estimate.results import Test
from pmulab.plan import Outcome, Plan

ALPHA = 0.05
HARDLY = 0.001
"""Error that each early look may spend where nearly all is kept for the end."""


@dataclass(frozen=True, slots=True)
class Looking:
    """The moments at which the arms were compared as planned.

    Parameters
    ----------
    earlier : sequence of sequence of int
        For each early look before this one, the card numbers of the clients whose main outcome
        was complete then.
    early : bool
        True when this comparison is itself an early look.
    """

    earlier: tuple[tuple[int, ...], ...] = ()
    early: bool = False


def level_of(plan: Plan, looking: Looking, complete: int) -> float:
    """Give the level that the intervals of this comparison need.

    Parameters
    ----------
    plan : Plan
    looking : Looking
    complete : int
        Clients whose main outcome is complete now.

    Returns
    -------
    float
        In (0, 1): 0.95 where nobody looked early, more where looking has to be paid for, so
        that all comparisons together err in at most one study of twenty.
    """
    if plan.analysis.after_every_client or not (looking.earlier or looking.early):
        return 1 - ALPHA
    sizes = [*map(len, looking.earlier), complete]
    spent = _spent(plan, looking, sizes)
    if not sizes[0] or any(later <= before for before, later in pairwise(sizes)):
        # Nobody new since the last look: only what it left over may be spent.
        return 1 - (spent[-1] - (spent[-2] if len(spent) > 1 else 0.0))
    everybody = sizes[-1] if not looking.early else max(plan.clients.planned, sizes[-1] + 1)
    shares = [size / everybody for size in sizes]
    ahead = [1.0] if looking.early else []
    found = looks.limits_that_spend(
        [*shares, *ahead], [*spent, *(ALPHA for _ in ahead)], plan.analysis.spending
    )
    nominal = found.nominal_p[len(sizes) - 1]
    return 1 - (nominal if nominal is not None else 1e-12)


def widening(plan: Plan) -> float:
    """Give how much wider the final interval is for the looks that are planned.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    float
        1 where nobody looks early; in normal theory, for the planned numbers of clients.
        Clients needed grow with its square. Looking after every client is not counted here.
    """
    from scipy.special import ndtri

    earlier = tuple(tuple(range(1, look + 1)) for look in plan.analysis.looks)
    level = level_of(plan, Looking(earlier), plan.clients.planned)
    return float(ndtri((1 + level) / 2) / ndtri(1 - ALPHA / 2))


def can_decide(plan: Plan, clients: int) -> bool:
    """Tell whether an early look at so many clients could reach its limit at all.

    Parameters
    ----------
    plan : Plan
    clients : int
        At the look, in all.

    Returns
    -------
    bool
        By the arrangements that the exact test can list: two to the number of clients within
        one person, the ways to choose one group between clients.
    """
    earlier = tuple(range(1, look + 1) for look in plan.analysis.looks if look < clients)
    needed = level_of(plan, Looking(tuple(map(tuple, earlier)), early=True), clients)
    ways = 2**clients if plan.within_person else comb(clients, clients // 2)
    return 2 / ways <= 1 - needed + 1e-12


def allowing_for_looks(
    comparison: Comparison, found: Sequence[Case], plan: Plan, looking: Looking
) -> Comparison:
    """Put what allows for the looks in place of what does not.

    Parameters
    ----------
    comparison : Comparison
        Of the main outcome, with intervals at `level_of`.
    found : sequence of Case
        In the order of enrolment.
    plan : Plan
    looking : Looking

    Returns
    -------
    Comparison
        Where clients are looked at one after the other: the interval and the test that hold at
        every moment. Where looks were planned: the test over all looks so far, as far as all
        its arrangements can be listed; between clients the test says that it does not count
        them.
    """
    if not plan.within_person:
        early = looking.early or looking.earlier
        return replace(comparison, test=_uncounted(comparison.test)) if early else comparison
    if plan.analysis.after_every_client:
        return _after_every_client(comparison, found, plan.primary)
    if looking.early or looking.earlier:
        return replace(comparison, test=_over_looks(comparison.test, found, plan, looking))
    return comparison


def _spent(plan: Plan, looking: Looking, sizes: Sequence[int]) -> list[float]:
    """Error that may have been spent by each look, this one last."""
    kind, planned = plan.analysis.spending, plan.clients.planned
    last = len(sizes) - 1
    spent = []
    for place, size in enumerate(sizes):
        if place == last and not looking.early:
            spent.append(ALPHA)
        elif kind == "hardly":
            spent.append(HARDLY * (place + 1))
        else:
            share = min(max(size, 1) / planned, 1.0)
            spent.append(looks.error_spent(share, _KINDS[kind], alpha=ALPHA))
    return spent


_KINDS: dict[str, looks.Spending] = {"late": "obrien-fleming", "evenly": "pocock"}


def _uncounted(test: Test) -> Test:
    return replace(test, note="This p does not count the early look; the interval does.")


def _over_looks(test: Test, found: Sequence[Case], plan: Plan, looking: Looking) -> Test:
    ordered = _by_look(found, looking)
    differences = [(case.values.a or 0.0) - (case.values.b or 0.0) for _, case in ordered]
    sizes = _sizes(ordered, len(looking.earlier))
    if not sizes or sizes[-1] > looks_signflip.MOST_CLIENTS:
        return _uncounted(test)
    spent = _spent(plan, looking, sizes)
    last = looks_signflip.signflip_looks(differences, sizes, spent)[-1]
    return Test(
        p=last.p,
        method="sign-flip test over all planned looks so far",
        n=last.n,
        smallest_p=looks_signflip.smallest_look_p([last.n])[0],
        note=last.note,
    )


def _by_look(found: Sequence[Case], looking: Looking) -> list[tuple[int, Case]]:
    """Order complete clients by the look that saw them first, then by card."""
    place = {
        number: look for look, seen in reversed([*enumerate(looking.earlier)]) for number in seen
    }
    complete = [
        (place.get(number, len(looking.earlier)), case)
        for number, case in enumerate(found, start=1)
        if case.complete
    ]
    return sorted(complete, key=lambda one: one[0])


def _sizes(ordered: Sequence[tuple[int, Case]], earlier: int) -> list[int]:
    """Clients seen by each look; looks that saw nobody new fall away."""
    upto = [sum(place <= look for place, _ in ordered) for look in range(earlier + 1)]
    return [size for before, size in pairwise([0, *upto]) if size > before]


def _after_every_client(
    comparison: Comparison, found: Sequence[Case], outcome: Outcome
) -> Comparison:
    differences = [
        (case.values.a or 0.0) - (case.values.b or 0.0) for case in found if case.complete
    ]
    mean = sequential.mean_after_every_client(differences, step=outcome.step, level=1 - ALPHA)
    evidence = sequential.signflip_evidence(differences, alpha=ALPHA)
    test = Test(p=evidence.p, method=evidence.method, n=evidence.n, note=evidence.note)
    return replace(comparison, difference=replace(mean, unit=outcome.unit), test=test)
