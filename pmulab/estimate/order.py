"""The difference between two arms, adjusted for which side was worked first and which was left."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
import numpy.typing as npt

from pmulab.estimate.inputs import Floats, Values, check_level, finite, flags
from pmulab.estimate.results import Estimate
from pmulab.estimate.shift import no_interval, t_interval

FEWEST_FOR_ADJUSTMENT = 8
METHOD = "least squares on order and side"


@dataclass(frozen=True, slots=True)
class Adjusted:
    """The adjusted difference beside what order and side themselves did.

    Parameters
    ----------
    effect : Estimate
        Arm A minus arm B, order and side taken out.
    order : Estimate
        First minus second: below zero, the eyelid worked second came out higher.
    side : Estimate
        Left minus right.
    """

    effect: Estimate
    order: Estimate
    side: Estimate


def adjusted_difference(
    differences: Values, a_first: npt.ArrayLike, a_left: npt.ArrayLike, level: float = 0.95
) -> Adjusted:
    """Mean difference adjusted for order and side, by least squares.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Arm A minus arm B, in the outcome's unit.
    a_first, a_left : array-like of bool, shape (n_clients,)
        Whether arm A was worked first; whether it was on the left.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Adjusted
        Each with n - 3 degrees of freedom; every value is None below eight clients or when order
        or side did not vary on its own.

    Raises
    ------
    ValueError
        If lengths differ, a value is not finite or level is out of range.

    References
    ----------
    .. [1] M. Hills and P. Armitage (1979), Br. J. Clin. Pharmacol. 8:7-20, extended by side.
    """
    check_level(level)
    d = finite(differences, "differences")
    first, left = _signs(a_first, "a_first", d.size), _signs(a_left, "a_left", d.size)
    design = np.column_stack((np.ones(d.size), first, left))
    reason = _why_not(design)
    if reason:
        missing = no_interval(None, d.size, METHOD, reason)
        return Adjusted(missing, missing, missing)
    return Adjusted(*_least_squares(design, d, level))


def order_adjusted_difference(
    differences: Values, a_first: npt.ArrayLike, level: float = 0.95
) -> Estimate:
    """Mean difference adjusted for order alone: half the sum of the two sequence means.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Arm A minus arm B, in the outcome's unit.
    a_first : array-like of bool, shape (n_clients,)
        Whether arm A was worked first.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        With n - 2 degrees of freedom; None when every client was worked in one order.

    Raises
    ------
    ValueError
        If lengths differ, a value is not finite or level is out of range.

    References
    ----------
    .. [1] M. Hills and P. Armitage (1979), Br. J. Clin. Pharmacol. 8:7-20.
    """
    check_level(level)
    d = finite(differences, "differences")
    method = "Hills and Armitage, adjusted for order"
    first = _signs(a_first, "a_first", d.size)
    if d.size < 4 or np.ptp(first) == 0:
        note = "With everyone worked in one order, or fewer than four clients, the order effect"
        return no_interval(None, d.size, method, f"{note} cannot be told from the arms.")
    return _least_squares(np.column_stack((np.ones(d.size), first)), d, level, method)[0]


def _signs(values: npt.ArrayLike, name: str, n: int) -> Floats:
    return np.where(flags(values, name, n), 1.0, -1.0)


def _why_not(design: Floats) -> str:
    n = design.shape[0]
    if n < FEWEST_FOR_ADJUSTMENT:
        return f"Adjusting for order and side needs {FEWEST_FOR_ADJUSTMENT} pairs; there are {n}."
    for column, what in ((1, "worked first"), (2, "on the left")):
        if np.ptp(design[:, column]) == 0:
            return f"The same arm was {what} in every client: its effect cannot be taken out."
    if np.linalg.matrix_rank(design) < 3:
        return "Order and side went together in every client: they cannot be told apart."
    return ""


def _least_squares(design: Floats, d: Floats, level: float, method: str = METHOD) -> list[Estimate]:
    inverse = np.linalg.inv(design.T @ design)
    values = inverse @ (design.T @ (d - d.mean()))
    values[0] += d.mean()
    rest = d - design @ values
    df = d.size - design.shape[1]
    variance = float(rest @ rest) / df
    if variance <= (1e-12 * float(np.abs(d).max())) ** 2:
        note = "The differences follow order and side exactly: no scatter is left to judge by."
        return [no_interval(float(value), d.size, method, note) for value in values]
    errors = [sqrt(variance * float(share)) for share in np.diag(inverse)]
    return [
        Estimate(
            value=float(value),
            n=d.size,
            method=method,
            interval=t_interval(float(value), error, df, level, f"least squares, t({df})"),
        )
        for value, error in zip(values, errors, strict=True)
    ]
