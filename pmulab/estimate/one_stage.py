"""All clients of several studies in one model, where their rows are at hand."""

import warnings

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from pmulab.estimate.inputs import Values, check_level, finite
from pmulab.estimate.results import Estimate, Interval

METHOD = "mixed model: one average, one random shift per study (REML)"
MOST_STUDIES = 200
FEWEST_STUDIES = 3


def one_stage_difference(
    differences: Values, studies: npt.ArrayLike, level: float = 0.95
) -> Estimate:
    """Average within-client difference over several studies, from every client's own difference.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        A - B of each client, in one unit.
    studies : array-like of shape (n_clients,)
        Which study each client belongs to, as any labels.
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        With t(k - 1) for k studies. No value, and a note that says why, for fewer than three
        studies, a study with one client, more than `MOST_STUDIES` studies, or a fit that does
        not settle.

    Raises
    ------
    ValueError
        If a value is not finite, the lengths differ, or the level is out of range.

    Notes
    -----
    One spread of clients is taken for all studies. It serves as a check of the pooled value,
    which trusts each study's own spread.
    """
    check_level(level)
    d, labels = finite(differences, "differences"), np.asarray(studies)
    if labels.shape != d.shape:
        raise ValueError(f"studies: {d.size} labels are needed, got shape {labels.shape}")
    _, place, counts = np.unique(labels, return_inverse=True, return_counts=True)
    if refusal := _refusal(counts, float(np.ptp(d)) if d.size else 0.0):
        return Estimate(None, d.size, METHOD, note=refusal)
    scale = float(d.std())
    fitted = _fit(d / scale, place)
    if fitted is None:
        note = "The model of all clients together did not settle; the pooled value stands alone."
        return Estimate(None, d.size, METHOD, note=note)
    value, error = fitted[0] * scale, fitted[1] * scale
    half = float(stdtrit(counts.size - 1, (1 + level) / 2)) * error
    interval = Interval(value - half, value + half, level, "t(k - 1)")
    return Estimate(value, d.size, METHOD, interval)


def _refusal(counts: npt.NDArray[np.intp], reach: float) -> str:
    if counts.size < FEWEST_STUDIES:
        return f"Fewer than {FEWEST_STUDIES} studies brought the rows of their clients."
    if counts.size > MOST_STUDIES:
        return f"More than {MOST_STUDIES} studies: the pooled value needs no check by rows."
    if counts.min() < 2:
        return "A study brought the row of one client only."
    return "" if reach > 0 else "All differences are equal: nothing to model."


def _fit(d: npt.NDArray[np.float64], place: npt.NDArray[np.intp]) -> tuple[float, float] | None:
    """Give average and standard error, None where the fit does not settle."""
    from numpy.linalg import LinAlgError
    from statsmodels.regression.mixed_linear_model import MixedLM

    order = np.lexsort((d, place))  # rows come in any order, and the search must not depend on it
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # boundary and convergence are looked at below
        try:
            model = MixedLM(d[order], np.ones((d.size, 1)), groups=place[order])
            found = model.fit(reml=True, method=["lbfgs", "bfgs", "powell"])
            value, error = float(found.fe_params[0]), float(found.bse_fe[0])
        except (LinAlgError, ValueError):
            return None
    if not found.converged or not np.isfinite([value, error]).all() or error <= 0:
        return None
    return value, error
