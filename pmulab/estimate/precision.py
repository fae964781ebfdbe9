"""How wide the interval will be: precision planning for a mean difference.

The half-width planned here is that of the t interval. The interval that the kit reports leaves
out nothing that sign flips do not reject: about a twentieth wider at eight clients and less
beyond (a thirteenth for short scales), up to a third wider at five and six.
"""

from math import ceil, isfinite, sqrt

from pmulab.estimate.results import Estimate, Interval
from pmulab.estimate.study_size import Design, require_design, require_share, smallest_n


def expected_half_width(
    n: int, sd: float, design: Design = "paired", *, level: float = 0.95
) -> float:
    """Half-width of the t interval of a mean difference when the SD comes out as planned.

    Parameters
    ----------
    n : int
        Clients treated on both sides (paired) or clients in each arm (parallel); 2 or more.
    sd : float
        Standard deviation, in the outcome's unit: of the differences between a client's two
        sides (paired; see `sd_of_differences`) or of the clients within an arm (parallel).
    design : {'paired', 'parallel'}, default='paired'
    level : float in (0, 1), default=0.95

    Returns
    -------
    float
        In the outcome's unit.

    Raises
    ------
    ValueError
        If n is below 2, sd is not positive or level lies outside (0, 1).

    References
    ----------
    .. [1] G. Cumming (2012), Understanding the New Statistics, ch. 13 (from memory).
    """
    from scipy import stats

    _check_plan(n, sd, design)
    require_share("level", level)
    df, error = _df_and_error(n, sd, design)
    return float(stats.t.ppf((1 + level) / 2, df)) * error


def half_width_with_assurance(
    n: int,
    sd: float,
    design: Design = "paired",
    *,
    assurance: float = 0.8,
    level: float = 0.95,
) -> float:
    """Half-width that the t interval stays within with the stated assurance.

    The SD of a small study comes out larger than planned about as often as smaller; the
    upper chi-square quantile of its square says by how much.

    Parameters
    ----------
    n : int
        Clients treated on both sides (paired) or clients in each arm (parallel); 2 or more.
    sd : float
        The true standard deviation as in `expected_half_width`.
    design : {'paired', 'parallel'}, default='paired'
    assurance : float in (0, 1), default=0.8
        Chance that the interval comes out no wider than the answer.
    level : float in (0, 1), default=0.95

    Returns
    -------
    float
        In the outcome's unit.

    Raises
    ------
    ValueError
        If n is below 2, sd is not positive, or level or assurance lies outside (0, 1).

    References
    ----------
    .. [1] K. Kelley, S. E. Maxwell (2003), Psychological Methods 8:305-321 (from memory).
    """
    from scipy import stats

    require_share("assurance", assurance)
    half_width = expected_half_width(n, sd, design, level=level)
    df, _ = _df_and_error(n, sd, design)
    return half_width * sqrt(float(stats.chi2.ppf(assurance, df)) / df)


def clients_for_half_width(
    target: float,
    sd: float,
    design: Design = "paired",
    *,
    assurance: float | None = None,
    level: float = 0.95,
) -> int:
    """Smallest number of clients whose interval is no wider than plus or minus the target.

    Parameters
    ----------
    target : float
        The half-width wanted, in the outcome's unit: usually the smallest worthwhile difference.
    sd : float
        Standard deviation as in `expected_half_width`.
    design : {'paired', 'parallel'}, default='paired'
    assurance : float in (0, 1), optional
        Also ask that the half-width be kept with this chance (`half_width_with_assurance`).
    level : float in (0, 1), default=0.95

    Returns
    -------
    int
        Clients (paired) or clients in each arm (parallel); 2 or more.

    Raises
    ------
    ValueError
        If target or sd is not positive, or more than 100,000 clients would be needed.
    """
    if not (isfinite(target) and target > 0):
        raise ValueError(f"target must be a positive number, got {target}")

    def narrow_enough(n: int) -> bool:
        if assurance is None:
            return expected_half_width(n, sd, design, level=level) <= target
        return half_width_with_assurance(n, sd, design, assurance=assurance, level=level) <= target

    return smallest_n(narrow_enough)


def sd_of_differences(sd: float, correlation: float) -> float:
    """Turn the standard deviation of one side into that of the two-sided difference.

    Parameters
    ----------
    sd : float
        Standard deviation between clients of one side's value, in the outcome's unit; positive.
    correlation : float in [-1, 1)
        Between the two sides of the same client.

    Returns
    -------
    float
        ``sd * sqrt(2 * (1 - correlation))``, in the outcome's unit.

    Raises
    ------
    ValueError
        If sd is not positive or the correlation lies outside [-1, 1).
    """
    _check_sd(sd)
    if not -1 <= correlation < 1:
        raise ValueError(f"correlation must lie in [-1, 1), got {correlation}")
    return sd * sqrt(2 * (1 - correlation))


def sd_upper_limit(sd: float, n: int, *, level: float = 0.8) -> Estimate:
    """One-sided upper limit of a standard deviation met in a rehearsal.

    Planning with the limit instead of the rehearsal's own SD guards against a rehearsal that
    came out too uniform by luck.

    Parameters
    ----------
    sd : float
        Standard deviation of the rehearsal, in the outcome's unit; not negative.
    n : int
        Clients in the rehearsal.
    level : float in (0, 1), default=0.8

    Returns
    -------
    Estimate
        `value` is sd; `interval` runs from 0 to the limit and is None for fewer than two
        clients or when all of them gave the same value.

    Raises
    ------
    ValueError
        If sd is negative or not finite, or n is below 1.

    References
    ----------
    .. [1] R. H. Browne (1995), Statistics in Medicine 14:1933-1940 (from memory).
    """
    from scipy import stats

    require_share("level", level)
    if not (isfinite(sd) and sd >= 0) or n < 1:
        raise ValueError(f"sd must be 0 or more and n at least 1, got sd={sd}, n={n}")
    method = "standard deviation, chi-square upper limit"
    if n < 2:
        note = "One client cannot show how far clients differ: rehearse with at least four."
        return Estimate(None, n, method, note=note)
    if sd == 0:
        note = (
            "All rehearsal clients gave the same value, so their spread cannot be used for "
            "planning: measure on a finer scale or rehearse with more clients."
        )
        return Estimate(0.0, n, method, note=note)
    limit = sd * sqrt((n - 1) / float(stats.chi2.ppf(1 - level, n - 1)))
    return Estimate(sd, n, method, Interval(0.0, limit, level, method))


def inflate_for_dropout(n: int, share: float) -> int:
    """Clients to enrol so that n remain when a share of them does not come back.

    Parameters
    ----------
    n : int
        Clients needed with a healed visit; 1 or more.
    share : float in [0, 1)
        Share expected to miss the healed visit.

    Returns
    -------
    int
        ``n / (1 - share)``, rounded up.

    Raises
    ------
    ValueError
        If n is below 1 or share lies outside [0, 1).
    """
    if n < 1 or not 0 <= share < 1:
        raise ValueError(f"n must be 1 or more and share in [0, 1), got n={n}, share={share}")
    return ceil(round(n / (1 - share), 9))


def _df_and_error(n: int, sd: float, design: Design) -> tuple[int, float]:
    if design == "paired":
        return n - 1, sd / sqrt(n)
    return 2 * n - 2, sd * sqrt(2 / n)


def _check_plan(n: int, sd: float, design: str) -> None:
    if n < 2:
        raise ValueError(f"n must be 2 or more, got {n}")
    _check_sd(sd)
    require_design(design)


def _check_sd(sd: float) -> None:
    if not (isfinite(sd) and sd > 0):
        raise ValueError(f"sd must be a positive number, got {sd}")
