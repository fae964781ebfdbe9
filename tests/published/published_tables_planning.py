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


def at_most_runs(above: int, below: int, runs: list[int]) -> list[float]:
    """Chance of at most so many runs when every order of the points is as likely."""
    from math import comb

    from pmulab.estimate.run_chart import orders_with_runs

    n = above + below
    exact = [orders_with_runs(above, below, r, n) for r in range(n + 1)]
    return [sum(exact[: most + 1]) / comb(n, above) for most in runs]
