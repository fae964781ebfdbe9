"""Entries of a plan that look as if they told who a person is."""

from collections.abc import Iterator
from typing import Any

from pmulab.plan.model import Plan


def telling(plan: Plan) -> dict[str, tuple[str, ...]]:
    """Find the entries that look like a name, a phone number, an address and the like.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of str to tuple of str
        Kinds, as `tables.find_identifiers` names them, by entry: 'promises.allowed_by'.
    """
    from pmulab.tables import find_identifiers

    found = {place: tuple(find_identifiers(text)) for place, text in _texts(plan.to_dict(), "")}
    return {place: kinds for place, kinds in found.items() if kinds}


def place_in(place: str, key: object) -> str:
    """Name an entry by the group that holds it and its name or number there."""
    return f"{place}.{key}" if place else str(key)


def _texts(data: Any, place: str) -> Iterator[tuple[str, str]]:
    if isinstance(data, str):
        yield place, data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield from _texts(value, place_in(place, key))
    elif isinstance(data, list):
        for row, value in enumerate(data, 1):
            yield from _texts(value, place_in(place, row))
