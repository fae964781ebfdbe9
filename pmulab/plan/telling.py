"""Entries of a plan that look as if they told who a person is."""

import re
from collections.abc import Iterator
from typing import Any

from pmulab.plan.model import Plan
from pmulab.tables.identifiers import Kind, identifying_words

_PRINTED = re.compile(
    r"study\.(?:title|question|setting|operator)|arms\.[AB]\.(?:label|steps)"
    r"|(?:primary|secondary\.\d+)\.(?:title|unit)|promises\.(?:sharing|cautions\.\d+)"
)
_ANNOUNCED = re.compile(r"study\.(?:code|question)|primary\.(?:title|unit)")


def telling(plan: Plan) -> dict[str, dict[Kind, tuple[str, ...]]]:
    """Find the entries that look like a name, a phone number, an address and the like.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of str to dict of kind to tuple of str
        By entry, such as 'promises.allowed_by': words by kind, as `tables.identifying_words`
        gives them.
    """
    found = {place: identifying_words(text) for place, text in _texts(plan.to_dict(), "")}
    return {place: words for place, words in found.items() if words}


def printed(entry: str) -> bool:
    """Tell whether handout or slides print an entry.

    Parameters
    ----------
    entry : str
        Such as 'secondary.1.title', counted from 1.

    Returns
    -------
    bool
    """
    return bool(_PRINTED.fullmatch(entry))


def announced(entry: str) -> bool:
    """Tell whether an entry goes into the register of a group when the plan is announced."""
    return bool(_ANNOUNCED.fullmatch(entry))


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
