"""Whose single values may leave the studio without giving away those of the others."""

from collections.abc import Sequence
from dataclasses import replace

from pmulab.findings.comparison import ClientValues, Effect

FEWEST_HELD_BACK = 3
"""Beside an average of everybody, the values of all but one or two clients tell theirs."""


def may_be_shown(clients: Sequence[ClientValues]) -> bool:
    """Tell whether single values of a comparison may stand beside its averages.

    Parameters
    ----------
    clients : sequence of ClientValues
        Everybody in the comparison, with `shared` False for those who hold theirs back.

    Returns
    -------
    bool
        True when nobody, or three clients at least, are held back of every average.
    """
    pairs = [one for one in clients if one.a is not None and one.b is not None]
    groups = [pairs] if pairs else [
        [one for one in clients if one.a is not None],
        [one for one in clients if one.b is not None],
    ]  # fmt: skip
    held = [sum(not one.shared for one in group) for group in groups]
    return all(number == 0 or number >= FEWEST_HELD_BACK for number in held)


def shown(effect: Effect) -> Effect:
    """Keep the single values that may be shown.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    Effect
        With the clients who agreed to it; with none where their values would give away those of
        one or two others. Averages and counts stay as they are.
    """
    kept = tuple(one for one in effect.clients if one.shared)
    return replace(effect, clients=kept if may_be_shown(effect.clients) else ())


def all_held_back(effect: Effect) -> bool:
    """Tell whether no single value is there although clients were compared."""
    return not effect.clients and bool(effect.a.n or effect.b.n)
