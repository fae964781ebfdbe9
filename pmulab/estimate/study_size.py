"""What planning by precision and by power share: the two designs and the search for n."""

from collections.abc import Callable
from typing import Literal

Design = Literal["paired", "parallel"]

_MOST_CLIENTS = 100_000
_STAYS_FOR = 30


def smallest_n(holds: Callable[[int], bool]) -> int:
    """Smallest number of clients, 2 or more, that meets a condition which then stays met.

    Parameters
    ----------
    holds : callable
        Takes a number of clients, answers whether it is enough.

    Returns
    -------
    int

    Raises
    ------
    ValueError
        If more than 100,000 clients would be needed.
    """
    low, high = 1, 2
    while not holds(high):
        low, high = high, high * 2
        if high > _MOST_CLIENTS:
            raise ValueError(
                f"more than {_MOST_CLIENTS:,} clients would be needed: the target is too "
                "small for this spread"
            )
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def first_to_stay(holds: Callable[[int], bool], start: int, most: int) -> int | None:
    """Smallest size from which a condition holds for thirty further sizes in a row.

    The power of an exact test saws up and down with the size, so the first size that reaches a
    target is not enough.

    Parameters
    ----------
    holds : callable
        Takes a size, answers whether it is enough.
    start, most : int
        Where the search begins and ends.

    Returns
    -------
    int or None
        None when there is none up to `most`.
    """
    first = None
    for n in range(start, most + _STAYS_FOR):
        if not holds(n):
            first = None
        elif first is None:
            first = n
        elif n - first >= _STAYS_FOR:
            return first
    return None


def require_design(design: str) -> None:
    """Refuse a design that is neither paired nor parallel.

    Parameters
    ----------
    design : str

    Raises
    ------
    ValueError
    """
    if design not in ("paired", "parallel"):
        raise ValueError(f"design must be 'paired' or 'parallel', got {design!r}")


def require_share(name: str, share: float) -> None:
    """Refuse a share that does not lie strictly between 0 and 1.

    Parameters
    ----------
    name : str
        Of the argument, for the message.
    share : float

    Raises
    ------
    ValueError
    """
    if not 0 < share < 1:
        raise ValueError(f"{name} must lie between 0 and 1, got {share}")
