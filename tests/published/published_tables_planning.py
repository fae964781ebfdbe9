"""Turns our answers into columns and rows as planning tables print them."""

import importlib
from typing import Any


def over(
    function: str, argument: str, values: list[Any], attribute: str = "", **fixed: Any
) -> list[Any]:
    """One printed row: the same question for several values of one argument."""
    module, _, name = function.partition(":")
    ask = getattr(importlib.import_module(module), name)
    answers = [ask(**{argument: value}, **fixed) for value in values]
    return [getattr(answer, attribute) if attribute else answer for answer in answers]


def rejected(function: str, p_values: list[float], alpha: float) -> int:
    """How many comparisons an adjustment keeps at alpha."""
    (adjusted,) = over(function, "p_values", [p_values])
    return sum(p <= alpha for p in adjusted)
