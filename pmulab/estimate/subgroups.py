"""Answers for parts of the clients, and refusals where a part is too small to be looked at alone.

What differs between parts is told by the difference between them with its interval, never by one
part having a clear answer and the other none. No p-value is given: each further one would be one
more chance to be fooled.

References
----------
.. [1] D. G. Altman, J. M. Bland (2003), BMJ 326:219: interaction, the difference between two
   estimates. (From memory.)
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
import numpy.typing as npt

from pmulab.estimate import independent
from pmulab.estimate.inputs import Floats, Values, check_level, check_step, finite, flags
from pmulab.estimate.results import Estimate
from pmulab.estimate.shift import no_interval, robust_mean, spread, t_interval

FEWEST = 20
"""Pairs of a part, or clients of a part in each arm, below which it is not looked at alone."""

Labels = npt.NDArray[np.str_]


@dataclass(frozen=True, slots=True)
class Subgroup:
    """The answer for one part of the clients.

    Parameters
    ----------
    label : str
    answer : Estimate
        A minus B in this part; without value and interval, with a note, where it is refused.
    """

    label: str
    answer: Estimate


@dataclass(frozen=True, slots=True)
class Subgroups:
    """The answers for all parts, and how two of them differ.

    Parameters
    ----------
    parts : tuple of Subgroup
        In the order of their labels.
    between : Estimate
        First part minus second part when exactly two are large enough; otherwise without value
        and interval, with a note.
    """

    parts: tuple[Subgroup, ...]
    between: Estimate


def paired_subgroups(
    differences: Values, labels: Sequence[str], *, step: float = 0.0, level: float = 0.95
) -> Subgroups:
    """Mean paired difference in each part of the clients.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        A minus B of each client, in the outcome's unit.
    labels : sequence of str, length n_clients
        The part each client belongs to, settled before the treatment (skin type, age band).
    step : float, default=0.0
        Step of the scale on which each arm was recorded; 0 when unknown.
    level : float in (0, 1), default=0.95
        Confidence level of the intervals.

    Returns
    -------
    Subgroups
        Each part as `pmulab.estimate.paired.mean_difference` answers; `between` as
        `pmulab.estimate.independent.mean_difference` answers for the two parts' differences.

    Raises
    ------
    ValueError
        If the lengths differ, a label is empty, a value is not finite, or level or step is out of
        range.
    """
    check_level(level)
    check_step(step)
    d = finite(differences, "differences")
    groups = _parted(labels, d.size)
    method = "mean difference in one part of the clients"
    parts = tuple(
        Subgroup(
            label,
            robust_mean(d[members], step, level)
            if members.sum() >= FEWEST
            else no_interval(None, int(members.sum()), method, _too_few_pairs(int(members.sum()))),
        )
        for label, members in groups.items()
    )
    large = [part.label for part in parts if part.answer.n >= FEWEST]
    if len(large) != 2:
        return Subgroups(parts, _not_two(len(large), d.size))
    first, second = (d[groups[label]] for label in large)
    # A difference of two recorded values carries the rounding of both.
    between = independent.mean_difference(first, second, step=step * sqrt(2), level=level)
    return Subgroups(parts, between)


def group_subgroups(
    values: Values,
    in_a: npt.ArrayLike,
    labels: Sequence[str],
    *,
    step: float = 0.0,
    level: float = 0.95,
) -> Subgroups:
    """Difference of the two arms' means in each part of the clients.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        One value a client, in the outcome's unit.
    in_a : array-like of bool, shape (n_clients,)
        Whether the client had arm A.
    labels : sequence of str, length n_clients
        The part each client belongs to.
    step : float, default=0.0
        Step of the scale; 0 when unknown.
    level : float in (0, 1), default=0.95
        Confidence level of the intervals.

    Returns
    -------
    Subgroups
        Each part as `pmulab.estimate.independent.mean_difference` answers; `between` is the
        difference of the two differences with a t interval, spreads free to differ.

    Raises
    ------
    ValueError
        If the lengths differ, a label is empty, a value is not finite, a flag is neither yes nor
        no, or level or step is out of range.

    References
    ----------
    .. [1] F. E. Satterthwaite (1946), Biometrics Bulletin 2:110-114 (from memory).
    """
    check_level(level)
    check_step(step)
    all_values = finite(values, "values")
    arm_a = flags(in_a, "in_a", all_values.size)
    groups = _parted(labels, all_values.size)
    arms = {
        label: (all_values[members & arm_a], all_values[members & ~arm_a])
        for label, members in groups.items()
    }
    parts = tuple(Subgroup(label, _two_arms(*pair, step, level)) for label, pair in arms.items())
    large = [label for label, pair in arms.items() if _large(*pair)]
    if len(large) != 2:
        return Subgroups(parts, _not_two(len(large), all_values.size))
    return Subgroups(parts, _difference_of_two(arms[large[0]], arms[large[1]], step, level))


def _parted(labels: Sequence[str], n: int) -> dict[str, npt.NDArray[np.bool_]]:
    if len(labels) != n or not all(isinstance(one, str) and one.strip() for one in labels):
        raise ValueError(f"labels: {n} names of parts are needed, none of them empty")
    names: Labels = np.asarray(labels, dtype=np.str_)
    return {label: names == label for label in sorted(set(labels))}


def _large(a: Floats, b: Floats) -> bool:
    return min(a.size, b.size) >= FEWEST


def _two_arms(a: Floats, b: Floats, step: float, level: float) -> Estimate:
    if _large(a, b):
        return independent.mean_difference(a, b, step=step, level=level)
    note = (
        f"This part has {a.size} and {b.size} clients in the two arms; with fewer than {FEWEST} "
        "in each a part is not looked at alone, because luck would decide what it shows."
    )
    return no_interval(None, a.size + b.size, "difference in one part of the clients", note)


def _too_few_pairs(n: int) -> str:
    return (
        f"This part has {n} pair{'' if n == 1 else 's'}; with fewer than {FEWEST} a part is not "
        "looked at alone, because luck would decide what it shows."
    )


def _not_two(large: int, n: int) -> Estimate:
    note = f"Parts are compared when exactly two are large enough; here {large or 'none'} "
    note += "is." if large < 2 else "are."
    return no_interval(None, n, "difference between two parts", note)


def _difference_of_two(
    first: tuple[Floats, Floats], second: tuple[Floats, Floats], step: float, level: float
) -> Estimate:
    cells = (*first, *second)
    value = float(first[0].mean() - first[1].mean() - second[0].mean() + second[1].mean())
    n, method = sum(cell.size for cell in cells), "difference of two differences of means"
    # As in one comparison, no cell is thought to vary less than rounding alone explains.
    parts = [max(spread(cell) ** 2, step * step / 12) / cell.size for cell in cells]
    total = sum(parts)
    if total == 0:
        note = "No value varies and the step of the scale is not given: no interval."
        return no_interval(value, n, method, note)
    df = total**2 / sum(part**2 / (cell.size - 1) for part, cell in zip(parts, cells, strict=True))
    how = "Satterthwaite t over four means"
    return Estimate(value, n, method, t_interval(value, sqrt(total), df, level, how))
