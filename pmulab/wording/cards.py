"""An opened card in words, with the steps that were agreed."""

from pmulab.allocation import Slot, card_words
from pmulab.plan import Plan
from pmulab.plan.steps import step_lines


def card_lines(slot: Slot, plan: Plan) -> tuple[str, ...]:
    """Say an opened card, then the agreed steps of each way that it names.

    Parameters
    ----------
    slot : Slot
    plan : Plan

    Returns
    -------
    tuple of str
        The steps in the order of working; none of a way whose steps are empty.
    """
    arms = dict(plan.arms.both)
    told = [f"Her card: {card_words(slot, plan.arms.A.label, plan.arms.B.label)}"]
    for key in slot.ways:
        steps = step_lines(arms[key].steps)
        told += [f"How it is done: {arms[key].label}", *steps] if steps else []
    return tuple(told)
