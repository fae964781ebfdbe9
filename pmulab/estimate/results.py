"""What every estimator answers with: small frozen facts, no arrays, standard library only."""

from dataclasses import dataclass
from math import isfinite, sqrt
from typing import Literal

Spread = Literal["REML", "Paule-Mandel", "DerSimonian-Laird"]
"""How the variance between studies is estimated."""


def _refuse_non_finite(name: str, *values: float | None) -> None:
    if not all(value is None or isfinite(value) for value in values):
        raise ValueError(f"{name}: a result holds finite numbers only, got {values}")


@dataclass(frozen=True, slots=True)
class Interval:
    """A range of values that fit the data, with its level and how it was made.

    Parameters
    ----------
    low, high : float
        The limits, in the unit of the estimate; low <= high.
    level : float
        The true (attained or nominal) confidence level, in (0, 1].
    method : str
        The construction, in words a statistician recognises.
    """

    low: float
    high: float
    level: float
    method: str

    def __post_init__(self) -> None:
        _refuse_non_finite("Interval", self.low, self.high, self.level)
        if self.low > self.high:
            raise ValueError(f"Interval: low {self.low} lies above high {self.high}")


@dataclass(frozen=True, slots=True)
class Estimate:
    """One number read from data, with the interval that belongs to it.

    Parameters
    ----------
    value : float or None
        The estimate; None when the data give none, `note` says why.
    n : int
        Clients (or clients in both groups together) behind it.
    method : str
        The estimator, in words a statistician recognises.
    interval : Interval or None
        None when no honest interval exists, `note` says why.
    unit : str, default=""
        Filled in by the caller that knows the outcome; estimators that have a unit of
        their own ('standard deviations', 'probability') fill it themselves.
    note : str, default=""
        A plain sentence for the reader, empty when there is nothing to say.
    """

    value: float | None
    n: int
    method: str
    interval: Interval | None = None
    unit: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        _refuse_non_finite("Estimate", self.value)
        if (self.value is None or self.interval is None) and not self.note:
            raise ValueError("Estimate: a missing value or interval needs a note that says why")


@dataclass(frozen=True, slots=True)
class Test:
    """A p-value that knows what it could have been.

    Parameters
    ----------
    p : float or None
        Two-sided unless `method` says otherwise, never 0; None when no test exists, `note`
        says why.
    method : str
        The test, in words a statistician recognises.
    n : int
        Clients behind it.
    smallest_p : float or None
        The smallest p that this test could have given here; None for tests that have none.
    statistic : float or None, default=None
        Its statistic (t, total, discordant pairs), named in `method`.
    df : float or None, default=None
        Degrees of freedom where the test has them.
    note : str, default=""
        A plain sentence for the reader.
    """

    __test__ = False  # not a test case, whatever its name looks like to a test runner

    p: float | None
    method: str
    n: int
    smallest_p: float | None = None
    statistic: float | None = None
    df: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        _refuse_non_finite("Test", self.p, self.smallest_p, self.statistic, self.df)
        if self.p is None and not self.note:
            raise ValueError("Test: a missing p needs a note that says why")
        if self.p is not None and not 0 < self.p <= 1:
            raise ValueError(f"Test: p must lie in (0, 1], got {self.p}")


@dataclass(frozen=True, slots=True)
class Pooled:
    """What several studies say together.

    Parameters
    ----------
    k : int
        Studies.
    value : float
        Average difference over studies, in the unit of the differences.
    error : float
        Its classical standard error.
    tau2 : float
        Variance of the true differences between studies, in the squared unit.
    q : float
        Cochran's Q.
    i2 : float
        Share of the variation between the estimates that is more than chance, 0 to 1.
    classical : Interval
        With a normal quantile; too narrow for few studies, shown only for comparison.
    interval : Interval
        Modified Hartung-Knapp.
    prediction : Interval or None
        Where the true difference of the next study may lie; None below three studies.
    spread : {'REML', 'Paule-Mandel', 'DerSimonian-Laird'}
        How `tau2` was estimated.
    """

    k: int
    value: float
    error: float
    tau2: float
    q: float
    i2: float
    classical: Interval
    interval: Interval
    prediction: Interval | None
    spread: Spread

    def __post_init__(self) -> None:
        _refuse_non_finite("Pooled", self.value, self.error, self.tau2, self.q, self.i2)

    @property
    def tau(self) -> float:
        """Standard deviation of the true differences between studies, in the unit."""
        return sqrt(self.tau2)
