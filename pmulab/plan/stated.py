"""Numbers in the name and steps of a way, held against what its records have to show."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from pmulab.plan.model import Key, Plan
from pmulab.plan.recorded import column, limits_of

_UNITS: Mapping[str, str] = {
    "min": r"min(?:s|ut\w*)?",
    "mm": r"mm|millimet(?:er|re)s?",
    "Hz": r"hz|hertz|strokes?\s*(?:a|per|each|/)\s*s(?:ec(?:ond)?)?",
    "wipes": r"wipes?",
}
"""How people write the units of the sessions table."""
_COUNTED: Mapping[str, str] = {"passes": r"pass(?:es)?", "sections": r"sections?"}
"""Columns without a unit that count things, and the word for these."""
_ONES = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = [
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_WORDS = {word: number for number, word in enumerate([*_ONES, *_TEENS], 1)}
_WORDS |= {word: 10 * number for number, word in enumerate(_TENS, 2)}
_ONE_WORD = (
    rf"(?:{'|'.join(_TENS)})(?:[ -](?:{'|'.join(_ONES)}))?|{'|'.join(sorted(_WORDS, reverse=True))}"
)
_NUMBER = rf"(?:(?<![\w.,])\d+(?:[.,]\d+)?|\b(?:{_ONE_WORD})\b)"
_AND_MORE = rf"(?:(?:\s*(?:-|\u2013|/|\bto\b|\bor\b|\band\b)\s*|,\s+){_NUMBER})"
_TOLERANCE = re.compile(
    rf"(?:give or take|plus or minus|\u00b1|\+\s?/?\s?-)\s*{_NUMBER}", re.IGNORECASE
)
_EACH_TIME = r"(?!\s*(?:an?|per|every|(?:for|in|on) (?:each|every))\s+(?!(?:eye)?lid|eye|side))"
"""'One wipe a section' is no number of wipes of an eyelid."""


@dataclass(frozen=True, slots=True)
class Unlike:
    """A way whose words say another number than its records have to show.

    Parameters
    ----------
    key : {'A', 'B'}
    column : str
        Of the sessions table.
    where : {'name', 'steps'}
    stated : tuple of str
        Numbers as they are written, each once.
    low, high : float
        What the records have to show.
    """

    key: Key
    column: str
    where: Literal["name", "steps"]
    stated: tuple[str, ...]
    low: float
    high: float


def unlike_steps(plan: Plan) -> Iterator[Unlike]:
    """Find ways whose name and steps state a number, and none that the records may show.

    Parameters
    ----------
    plan : Plan

    Yields
    ------
    Unlike
        For each way and column that has to show a number, of the name and of the steps: what was
        changed in one is easily forgotten in the other. Words that state no number in the unit
        of the column are none of them; so are those that state a number within the limits,
        whatever else they say, since a wait of 10 minutes is no numbing time.
    """
    for key, arm in plan.arms.both:
        for name, value in arm.recorded.items():
            limits = limits_of(value)
            if limits is None:
                continue
            low, high = limits
            if found := _beyond(stated(arm.label, name), low, high):
                yield Unlike(key, name, "name", found, low, high)
            if found := _beyond(stated(arm.steps, name), low, high):
                yield Unlike(key, name, "steps", found, low, high)


def _beyond(found: Mapping[str, float], low: float, high: float) -> tuple[str, ...]:
    """Give the numbers as written if none lies within the limits; nothing otherwise."""
    if any(low <= number <= high for number in found.values()):
        return ()
    each: dict[str, str] = {}
    for written in found:
        each.setdefault(written.casefold(), written)
    return tuple(each.values())


def stated(text: str, name: str) -> dict[str, float]:
    """Find the numbers that a text states in the unit of a column.

    Parameters
    ----------
    text : str
        Numbers in digits, with a point or a comma, or in English words up to 99.
    name : str
        Column of the sessions table.

    Returns
    -------
    dict of str to float
        The number by how it is written; both ends of a range. Not the tolerance ('give or
        take 2'), and not what is said of each of several parts ('one wipe a section').
    """
    unit = column(name).unit
    written = _UNITS.get(unit, re.escape(unit)) if unit else _COUNTED.get(name, "")
    if not written:
        return {}
    between = r"[\s-]*" if unit else r"[\s-]+(?:[^\W\d_]+\s+)?"
    amount = re.compile(
        rf"({_NUMBER}{_AND_MORE}*){between}(?:{written})(?!\w){_EACH_TIME}", re.IGNORECASE
    )
    amounts = (found[1] for found in amount.finditer(_TOLERANCE.sub("", text)))
    return {
        number: _value(number)
        for one in amounts
        for number in re.findall(_NUMBER, one, re.IGNORECASE)
    }


def _value(number: str) -> float:
    if number[0].isdigit():
        return float(number.replace(",", "."))
    return float(sum(_WORDS[word] for word in re.split(r"[ -]", number.casefold())))
