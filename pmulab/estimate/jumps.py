"""Rare one-sided jumps: a few values far to one side of the rest.

No interval for a mean holds its level when one client in ten jumps and most small studies contain
no such client (measured: 89 to 93 % in place of 95, for every construction tried). So jumps are
noticed, said, and the typical difference is put first, which keeps its level.
"""

import numpy as np

from pmulab.estimate.inputs import Floats

NORMAL_MAD = 1.4826
NORMAL_MEAN_DEVIATION = 1.2533


def one_sided_jumps(values: Floats, step: float) -> int:
    """Count values far from the rest when all of them lie on one side.

    Parameters
    ----------
    values : ndarray of shape (n_clients,)
        One number per client.
    step : float
        Step of the scale, a floor for the spread; 0 when unknown.

    Returns
    -------
    int
        Positive for jumps upward, negative for jumps downward, 0 for none, for jumps to both
        sides, for more than a quarter of the clients and below five.

    Notes
    -----
    The modified z score of Iglewicz and Hoaglin, with the limit raised from 3.5 to 3.5 + 10 / n so
    that about one normal sample in twenty is flagged at 6 to 20 clients (one in eleven at 5).

    References
    ----------
    .. [1] B. Iglewicz and D. C. Hoaglin (1993), How to Detect and Handle Outliers. (From memory.)
    """
    n = values.size
    if n < 5:
        return 0
    away = values - np.median(values)
    deviations = np.abs(away)
    scale = max(NORMAL_MAD * float(np.median(deviations)), step)
    scale = scale or NORMAL_MEAN_DEVIATION * float(deviations.mean())
    limit = (3.5 + 10 / n) * scale
    above, below = int((away > limit).sum()), int((away < -limit).sum())
    if scale == 0 or (above and below) or above + below > n // 4:
        return 0
    return above - below


def jump_note(jumps: int, what: str) -> str:
    """Say what was noticed, for the reader.

    Parameters
    ----------
    jumps : int
        As from `one_sided_jumps`.
    what : str
        What the values are: 'differences', 'values of group A'.

    Returns
    -------
    str
        Empty when there is no jump.
    """
    if jumps == 0:
        return ""
    where = "above" if jumps > 0 else "below"
    lie = "lies" if abs(jumps) == 1 else "lie"
    return (
        f"{abs(jumps)} of the {what} {lie} far {where} the rest: the mean leans on so few clients, "
        "so the typical difference comes first."
    )
