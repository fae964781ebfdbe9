"""What a number of clients could never show, said before they are asked."""

from pmulab.plan import Plan
from pmulab.sizing.chances import fewest
from pmulab.sizing.seen import LARGE, smallest_seen
from pmulab.wording.amounts import with_unit


def fewest_words(plan: Plan) -> str:
    """Say from which number of clients an answer is possible at all.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    str
    """
    least = fewest(plan)
    if plan.within_person:
        return f"An answer needs results from at least {least} clients; plan for losses on top."
    return (
        f"An answer needs results from at least {least} clients in each way, {2 * least} in all; "
        "plan for losses on top."
    )


def too_few(plan: Plan) -> bool:
    """Tell whether the planned clients can give no answer at all.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    bool
    """
    planned = plan.clients.planned
    return (planned if plan.within_person else planned // 2) < fewest(plan)


def few_words(plan: Plan, clients: int | None = None) -> str:
    """Say how large a difference has to be for so many clients to show it.

    Parameters
    ----------
    plan : Plan
    clients : int, optional
        Those planned if not given.

    Returns
    -------
    str
    """
    n = plan.clients.planned if clients is None else clients
    seen = smallest_seen(plan, n)
    if seen is None:
        return (
            f"{n} clients are too few for an answer, whatever they show. {fewest_words(plan)} "
            "A smaller study describes what was seen, and no more."
        )
    if plan.primary.yes_no:
        few = f"{n} clients are few for a yes/no measure" if seen > 0.25 else f"{n} clients"
        return (
            f"{few}: even at best, a true difference has to be about {100 * seen:.0f} percentage "
            "points to show in four studies of five."
        )
    what = "the differences within clients" if plan.within_person else "the values of clients"
    few = f"{n} clients are few: only a large difference shows. " if seen > LARGE else ""
    matters = with_unit(plan.primary.worthwhile, plan.primary)
    most = f"{plan.primary.worthwhile / seen:.2g} {plan.primary.unit}"
    return (
        f"{few}With {n} clients, a true difference of {matters} shows in four studies of five only "
        f"if {what} spread by no more than about {most} (standard deviation)."
    )
