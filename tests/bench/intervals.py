"""Coverage and width of every interval, ours and the peers', in one cell at a time."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import special, stats

from pmulab.estimate import independent, paired

from .shapes import Shape, truths

Limits = tuple[float, float] | None
Maker = Callable[[np.ndarray, np.ndarray, float], Limits]


@dataclass
class Cell:
    """Percent of samples that hold the truth, and what is wrong with the others."""

    replicates: int
    coverage: float
    width: float
    none: float
    shut: float


def of(function, *, step=True) -> Maker:
    def make(a, b, size):
        estimate = function(a, b, step=size) if step else function(a, b)
        found = estimate.interval
        return None if found is None else (found.low, found.high)

    return make


def noncentral_ncp(t: float, df: int) -> tuple[float, float]:
    return (
        float(special.nctdtrinc(df, 0.975, t)),
        float(special.nctdtrinc(df, 0.025, t)),
    )


def noncentral_paired(a, b, _step) -> Limits:
    d = a - b
    if d.std() == 0:
        return None
    error, average = d.std(ddof=1) / math.sqrt(d.size), (a.var(ddof=1) + b.var(ddof=1)) / 2
    low, high = noncentral_ncp(d.mean() / error, d.size - 1)
    scale = error / math.sqrt(average)
    return low * scale, high * scale


def noncentral_groups(a, b, _step) -> Limits:
    n = a.size
    pooled = (a.var(ddof=1) + b.var(ddof=1)) / 2
    if pooled == 0:
        return None
    low, high = noncentral_ncp((a.mean() - b.mean()) / math.sqrt(2 * pooled / n), 2 * n - 2)
    return low * math.sqrt(2 / n), high * math.sqrt(2 / n)


def pingouin_g(is_paired: bool) -> Maker:
    import pingouin as pg

    def make(a, b, _step):
        if a.std() + b.std() == 0:
            return None
        g = pg.compute_effsize(a, b, paired=is_paired, eftype="hedges")
        found = pg.compute_esci(g, a.size, b.size, paired=is_paired, eftype="hedges", decimals=9)
        return None if np.isnan(found).any() else (float(found[0]), float(found[1]))

    return make


def statsmodels_mean(is_paired: bool) -> Maker:
    from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

    def make(a, b, _step):
        if (a - b).std() == 0 or a.std() + b.std() == 0:
            return None
        if is_paired:
            return DescrStatsW(a - b).tconfint_mean()
        return CompareMeans(DescrStatsW(a), DescrStatsW(b)).tconfint_diff(usevar="unequal")

    return make


def scipy_mean(is_paired: bool) -> Maker:
    def make(a, b, _step):
        if (a - b).std() == 0 or a.std() + b.std() == 0:
            return None
        test = stats.ttest_rel(a, b) if is_paired else stats.ttest_ind(a, b, equal_var=False)
        found = test.confidence_interval(0.95)
        return float(found.low), float(found.high)

    return make


def scipy_bca(is_paired: bool) -> Maker:
    rng = np.random.default_rng(2)

    def make(a, b, _step):
        if (a - b).std() == 0 or a.std() == 0 or b.std() == 0:
            return None
        options = {"method": "BCa", "n_resamples": 999, "rng": rng, "vectorized": True}
        if is_paired:
            found = stats.bootstrap((a - b,), np.mean, **options).confidence_interval
        else:
            found = stats.bootstrap(
                (a, b), lambda x, y, axis: x.mean(axis) - y.mean(axis), **options
            ).confidence_interval
        return None if math.isnan(found.low) else (float(found.low), float(found.high))

    return make


OURS_PAIRED: dict[str, tuple[str, Maker]] = {
    "mean difference": ("mean difference", of(paired.mean_difference)),
    "typical difference": ("typical", of(paired.typical_difference)),
    "standardised g_av": ("standardised", of(paired.standardised_difference)),
    "standardised d_z": (
        "by sd of differences",
        of(paired.standardised_by_sd_of_differences),
    ),
    "probability higher": ("probability higher", of(paired.probability_a_higher, step=False)),
    "ratio": ("ratio", of(paired.ratio)),
}
OURS_GROUPS: dict[str, tuple[str, Maker]] = {
    "mean difference": ("mean difference", of(independent.mean_difference)),
    "typical shift": ("typical", of(independent.typical_shift)),
    "standardised g": ("standardised", of(independent.standardised_difference)),
    "probability higher": ("probability higher", of(independent.probability_a_higher, step=False)),
    "ratio": ("ratio", of(independent.ratio)),
}


def baselines(is_paired: bool) -> dict[str, tuple[str, Maker]]:
    """Quick yardsticks computed on every sample, for widths."""
    student = paired.t_mean_difference if is_paired else independent.welch_mean_difference
    noncentral = noncentral_paired if is_paired else noncentral_groups
    return {
        "t" if is_paired else "Welch": ("mean difference", of(student, step=False)),
        "noncentral t": ("standardised", noncentral),
    }


def peers(is_paired: bool) -> dict[str, tuple[str, Maker]]:
    """Slower ones, computed on fewer samples of the same run."""
    return {
        "scipy t": ("mean difference", scipy_mean(is_paired)),
        "scipy BCa": ("mean difference", scipy_bca(is_paired)),
        "statsmodels t": ("mean difference", statsmodels_mean(is_paired)),
        "pingouin g": ("standardised", pingouin_g(is_paired)),
    }


def samples(shape: Shape, n: int, is_paired: bool, replicates: int):
    """Samples of one cell: two arrays (replicates, n), the same for every maker."""
    rng = np.random.default_rng([n, is_paired, len(shape.name)])
    return shape.draw(rng, replicates, n, is_paired)


def counted(limits: list[Limits], target: float) -> Cell:
    """Count how many intervals hold the truth; none at all is a miss."""
    slack, replicates = 1e-9 * (1 + abs(target)), len(limits)
    given = np.array([pair for pair in limits if pair is not None]).reshape(-1, 2)
    held = (given[:, 0] - slack <= target) & (target <= given[:, 1] + slack)
    return Cell(
        replicates=replicates,
        coverage=100 * float(held.sum()) / replicates,
        width=float((given[:, 1] - given[:, 0]).mean()) if len(given) else 0.0,
        none=100 * (1 - len(given) / replicates),
        shut=100 * float((given[:, 0] >= given[:, 1]).sum()) / replicates,
    )


def cell(shape: Shape, n: int, is_paired: bool, makers, replicates: int) -> dict[str, Cell]:
    """Draw samples and count for each maker how often its interval holds the truth."""
    truth = truths(shape, is_paired)
    a, b = samples(shape, n, is_paired, replicates)
    return {
        name: counted(
            [make(one, other, shape.step) for one, other in zip(a, b, strict=True)],
            truth[measure],
        )
        for name, (measure, make) in makers.items()
        if measure in truth
    }
