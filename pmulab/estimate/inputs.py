"""What every estimator accepts: finite numbers, one per client, in a stated order."""

import numpy as np
import numpy.typing as npt

Values = npt.ArrayLike
Floats = npt.NDArray[np.float64]


def finite(values: Values, name: str) -> Floats:
    """Return the values as a one-dimensional float array.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        One number per client.
    name : str
        What the values are called in the error.

    Returns
    -------
    ndarray of shape (n_clients,)

    Raises
    ------
    ValueError
        If the values are not one-dimensional, not numbers or not finite.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.ndim != 1:
        raise ValueError(f"{name}: one value per client is needed, got shape {array.shape}")
    if not np.isfinite(array).all():
        raise ValueError(f"{name}: all values must be finite numbers")
    return array


def pairs(a: Values, b: Values) -> tuple[Floats, Floats]:
    """Return both arms as float arrays of one length.

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order.

    Returns
    -------
    tuple of two ndarrays of shape (n_clients,)

    Raises
    ------
    ValueError
        If the lengths differ or a value is not finite.
    """
    arm_a, arm_b = finite(a, "a"), finite(b, "b")
    if arm_a.size != arm_b.size:
        raise ValueError(f"a and b must hold the same clients: got {arm_a.size} and {arm_b.size}")
    return arm_a, arm_b


def flags(values: npt.ArrayLike, name: str, n: int) -> npt.NDArray[np.bool_]:
    """Return one yes/no per client.

    Parameters
    ----------
    values : array-like of bool, shape (n_clients,)
        One number per client.
    name : str
        What the flags are called in the error.
    n : int
        How many clients there are.

    Returns
    -------
    ndarray of bool, shape (n_clients,)

    Raises
    ------
    ValueError
        If the length is not `n` or a value is neither yes nor no.
    """
    array = np.asarray(values)
    if array.shape != (n,):
        raise ValueError(f"{name}: {n} values are needed, got shape {array.shape}")
    if not np.isin(array, (False, True)).all():
        raise ValueError(f"{name}: only yes or no (True or False) is allowed")
    return array.astype(np.bool_)


def check_level(level: float) -> None:
    """Refuse a confidence level outside (0, 1).

    Parameters
    ----------
    level : float
        Confidence level of the interval.

    Raises
    ------
    ValueError
        If the level does not lie strictly between 0 and 1.
    """
    if not 0 < level < 1:
        raise ValueError(f"level must lie between 0 and 1, got {level}")


def check_step(step: float) -> None:
    """Refuse a negative or infinite step of the scale.

    Parameters
    ----------
    step : float
        The common step.

    Raises
    ------
    ValueError
        If the step is negative or not finite.
    """
    if not 0 <= step < np.inf:
        raise ValueError(f"step must be 0 (unknown) or a positive number, got {step}")
