"""How finely a measure is told, and which differences of limits are too small to read."""

from pmulab.plan.model import Outcome


def shown_decimals(outcome: Outcome) -> int:
    """Choose the decimals that a measure deserves.

    Parameters
    ----------
    outcome : Outcome

    Returns
    -------
    int
        Whole per cents; otherwise about a tenth of the smallest worthwhile difference.
    """
    return 0 if outcome.yes_no else 1 if outcome.worthwhile >= 1 else 2


def read_at(limit: float, outcome: Outcome) -> float:
    """Take a limit that nobody could tell from 0 or from what would matter as just that.

    Parameters
    ----------
    limit : float
        Of an interval of the difference, in the outcome's unit.
    outcome : Outcome

    Returns
    -------
    float
        The edge where it lies nearer than a hundredth of what would matter; the limit otherwise.
    """
    edges = (0.0, outcome.worthwhile, -outcome.worthwhile)
    near = min(edges, key=lambda edge: abs(limit - edge))
    return near if abs(limit - near) < outcome.worthwhile / 100 else limit
