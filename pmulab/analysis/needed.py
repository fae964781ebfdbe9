"""How many clients a new study would take after an open result: the answer that sizing gives."""

from dataclasses import replace

from pmulab.findings import Effect
from pmulab.plan import Plan
from pmulab.sizing import clients_after


def with_needed(effect: Effect, plan: Plan) -> Effect:
    """Say of an open result how many clients a new study would take.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    Effect
        With the numbers that sizing the same plan by this study as the earlier one gives; without
        them where the case is not open, the spread is not known, or as many were seen already.
    """
    if effect.verdict.case != "G4":
        return effect
    needed = clients_after(effect, plan)
    if needed is None or needed.clients <= effect.difference.n:
        return effect
    told = replace(effect.verdict, clients_needed=needed.clients, clients_to_enrol=needed.to_enrol)
    return replace(effect, verdict=told)
