"""Whether and when the two ways are compared before the end: one choice in the form of a plan."""

from dataclasses import replace
from typing import Any

from ipywidgets import Dropdown

from pmulab.analysis.looking import can_decide
from pmulab.panels.inputs import choice
from pmulab.plan import Plan

NEVER, HALF_WAY, EVERY, OWN = "never", "half-way", "every", "own"


def looking(plan: Plan) -> Dropdown:
    """Make the choice, set to what the plan says.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Dropdown
    """
    half = half_way(plan)
    options = [("Not before the end (usual)", NEVER)]
    if half is not None:
        options.append(
            (f"Once, at {half} clients; only a huge difference ends the study", HALF_WAY)
        )
    if plan.within_person and not plan.primary.yes_no:
        told = "After every client; a wide interval, half to two thirds more clients"
        options.append((told, EVERY))
    now = _now(plan)
    if now == OWN:
        looks = " and ".join(map(str, plan.analysis.looks))
        options.append((f"As written in plan.toml: at {looks} clients", OWN))
    return choice("Compare the two ways", options, now)


def half_way(plan: Plan) -> int | None:
    """Give the number of clients of a look half-way, if the plan is large enough for one.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    int or None
        In whole blocks of four; None where so few clients could decide nothing.
    """
    half = plan.clients.planned // 2 // 4 * 4
    hardly = replace(plan, analysis=replace(plan.analysis, looks=(), spending="hardly"))
    return half if half and can_decide(hardly, half) else None


def looking_entries(plan: Plan, chosen: str) -> dict[str, Any]:
    """Give the entries of the plan that a choice stands for.

    Parameters
    ----------
    plan : Plan
    chosen : str

    Returns
    -------
    dict
    """
    if chosen == OWN:
        return {}
    return {
        "analysis.looks": [half_way(plan)] if chosen == HALF_WAY else [],
        "analysis.after_every_client": chosen == EVERY,
    }


def _now(plan: Plan) -> str:
    if plan.analysis.after_every_client:
        return EVERY
    if not plan.analysis.looks:
        return NEVER
    usual = plan.analysis.looks == (half_way(plan),) and plan.analysis.spending == "hardly"
    return HALF_WAY if usual else OWN
