"""Several questions asked at once: what it costs, and two ways to pay."""

from collections.abc import Sequence

from pmulab.estimate.study_size import require_share


def chance_of_false_finding(k: int, *, alpha: float = 0.05) -> float:
    """Chance of at least one false finding among independent comparisons.

    Parameters
    ----------
    k : int
        Comparisons without any true difference; 1 or more.
    alpha : float in (0, 1), default=0.05
        Error allowed to each.

    Returns
    -------
    float
        ``1 - (1 - alpha) ** k``.

    Raises
    ------
    ValueError
        If k is below 1 or alpha lies outside (0, 1).
    """
    require_share("alpha", alpha)
    if k < 1:
        raise ValueError(f"k must be 1 or more, got {k}")
    return 1 - (1 - alpha) ** k


def holm(p_values: Sequence[float]) -> tuple[float, ...]:
    """Adjust p-values so that any false finding at all stays within the error rate.

    Parameters
    ----------
    p_values : sequence of float
        In (0, 1], one a comparison.

    Returns
    -------
    tuple of float
        In the order given; compare each with alpha.

    Raises
    ------
    ValueError
        If a value lies outside (0, 1].

    References
    ----------
    .. [1] S. Holm (1979), Scand J Statist 6:65-70.
    """
    _check(p_values)
    order = sorted(range(len(p_values)), key=lambda position: p_values[position])
    adjusted, largest = [1.0] * len(p_values), 0.0
    for rank, position in enumerate(order):
        largest = min(1.0, max(largest, p_values[position] * (len(order) - rank)))
        adjusted[position] = largest
    return tuple(adjusted)


def benjamini_hochberg(p_values: Sequence[float]) -> tuple[float, ...]:
    """Adjust p-values so that the share of false ones among the findings stays bounded.

    Parameters
    ----------
    p_values : sequence of float
        In (0, 1], one a comparison; independent of each other.

    Returns
    -------
    tuple of float
        In the order given; compare each with the share tolerated.

    Raises
    ------
    ValueError
        If a value lies outside (0, 1].

    References
    ----------
    .. [1] Y. Benjamini, Y. Hochberg (1995), J R Statist Soc B 57:289-300.
    """
    from scipy import stats

    _check(p_values)
    if not p_values:
        return ()
    return tuple(float(p) for p in stats.false_discovery_control(list(p_values)))


def _check(p_values: Sequence[float]) -> None:
    if not all(0 < p <= 1 for p in p_values):
        raise ValueError(f"p-values must lie in (0, 1], got {list(p_values)}")
