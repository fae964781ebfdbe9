"""Yes/no outcomes: coverage, width and type-I error by full enumeration, no simulation error."""

import math
import warnings
from functools import cache

import numpy as np
from scipy import stats
from scipy.special import gammaln

from pmulab.estimate import proportions
from pmulab.estimate.score import miettinen_nurminen_score, score_limits, tango_score
from pmulab.estimate.unconditional import groups_lower_limit, groups_p, paired_lower_limit, paired_p

SLACK = 1e-9


@cache
def paired_tables(n):
    tables = [(b, c) for b in range(n + 1) for c in range(n + 1 - b)]
    b, c = np.array(tables).T
    ways = gammaln(n + 1) - gammaln(b + 1) - gammaln(c + 1) - gammaln(n - b - c + 1)
    return b, c, ways


def paired_points(count=400, seed=4):
    """Chances of (yes only under A, yes only under B): random, at the edges, and rare."""
    rng = np.random.default_rng(seed)
    free = rng.dirichlet([0.7, 0.7, 0.7], count)[:, :2]
    edge = np.column_stack((rng.uniform(0, 1, count // 4), np.full(count // 4, 1e-6)))
    rare = rng.uniform(0, 0.08, (count // 4, 2))
    return np.vstack((free, edge, rare, edge[:, ::-1], [[0.0, 0.0], [0.5, 0.5], [0.25, 0.25]]))


def paired_chances(n, points):
    b, c, ways = paired_tables(n)
    logs = np.log(np.maximum(points, 1e-300))
    rest = np.log(np.maximum(1 - points.sum(axis=1), 1e-300))
    return np.exp(
        np.outer(logs[:, 0], b) + np.outer(logs[:, 1], c) + np.outer(rest, n - b - c) + ways
    )


def paired_limits(n, method):
    b, c, _ = paired_tables(n)
    return np.array([method(int(one), int(other), n) for one, other in zip(b, c, strict=True)])


def exact_paired(b, c, n):
    return paired_lower_limit(b, c, n, 0.95), -paired_lower_limit(c, b, n, 0.95)


def tango(b, c, n):
    return score_limits(lambda x: tango_score(b, c, n, x), (b - c) / n, 0.95)


def paired_t(b, c, n):
    mean = (b - c) / n
    variance = ((b + c) - n * mean * mean) / (n - 1)
    half = stats.t.ppf(0.975, n - 1) * math.sqrt(max(variance, 0) / n)
    return mean - half, mean + half


def coverage(limits, chances, truth):
    held = (limits[None, :, 0] <= truth[:, None] + SLACK) & (
        truth[:, None] - SLACK <= limits[None, :, 1]
    )
    return 100 * (chances * held).sum(axis=1)


def paired_rows(n):
    """Worst and mean coverage and mean width of each method at n clients."""
    points = paired_points()
    chances, truth = paired_chances(n, points), points[:, 0] - points[:, 1]
    rows = {}
    for name, method in (("ours", exact_paired), ("Tango", tango), ("t on 0/1", paired_t)):
        limits = paired_limits(n, method)
        covered = coverage(limits, chances, truth)
        widths = chances @ (limits[:, 1] - limits[:, 0])
        shut = 100 * (chances @ (limits[:, 0] >= limits[:, 1])).max()
        rows[name] = {
            "worst": float(covered.min()),
            "mean": float(covered.mean()),
            "width": float(widths.mean()),
            "shut": float(shut),
        }
    return rows


def group_points(count=300, seed=6):
    rng = np.random.default_rng(seed)
    free, rare = rng.uniform(0, 1, (count, 2)), rng.uniform(0, 0.1, (count // 3, 2))
    edge = np.column_stack((rng.uniform(0, 1, count // 6), np.full(count // 6, 1e-6)))
    edges = np.vstack((edge, edge[:, ::-1], 1 - edge))
    return np.vstack((free, rare, 1 - rare, edges, [[0.4, 0.2], [0.5, 0.5]]))


def group_chances(n, points):
    counts = np.arange(n + 1)
    of_a, of_b = (stats.binom.pmf(counts, n, points[:, [k]]) for k in (0, 1))
    return (of_a[:, :, None] * of_b[:, None, :]).reshape(len(points), -1)


def group_limits(n, method):
    return np.array([method(x, n, y, n) for x in range(n + 1) for y in range(n + 1)])


def exact_groups(x, n, y, m):
    return groups_lower_limit(x, n, y, m, 0.95), -groups_lower_limit(y, m, x, n, 0.95)


def miettinen_nurminen(x, n, y, m):
    score = lambda d: miettinen_nurminen_score(x, n, y, m, d)  # noqa: E731
    return score_limits(score, x / n - y / m, 0.95)


def statsmodels_method(method):
    from statsmodels.stats.proportion import confint_proportions_2indep

    def make(x, n, y, m):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                low, high = confint_proportions_2indep(x, n, y, m, method=method, compare="diff")
            except (ValueError, RuntimeError):
                return math.inf, -math.inf
        return (math.inf, -math.inf) if math.isnan(low) or math.isnan(high) else (low, high)

    return make


def group_rows(n):
    """Worst and mean coverage and mean width of each method at n clients a group."""
    points = group_points()
    chances, truth = group_chances(n, points), points[:, 0] - points[:, 1]
    methods = {
        "ours": exact_groups,
        "Miettinen-Nurminen": miettinen_nurminen,
        **{f"statsmodels {m}": statsmodels_method(m) for m in ("wald", "agresti-caffo", "newcomb")},
    }
    rows = {}
    for name, method in methods.items():
        limits = group_limits(n, method)
        covered = coverage(limits, chances, truth)
        width = np.where(np.isfinite(limits).all(axis=1), limits[:, 1] - limits[:, 0], 0)
        rows[name] = {
            "worst": float(covered.min()),
            "mean": float(covered.mean()),
            "width": float((chances @ width).mean()),
            "shut": float(100 * (chances @ (limits[:, 0] >= limits[:, 1])).max()),
        }
    return rows


def probability_rows(n):
    """Coverage of the two-group probability of superiority when the outcome is yes or no."""
    from pmulab.estimate.independent import probability_a_higher

    def make(x, size, y, m):
        found = probability_a_higher([1] * x + [0] * (size - x), [1] * y + [0] * (m - y)).interval
        return found.low, found.high

    points = group_points()
    truth = 0.5 + (points[:, 0] - points[:, 1]) / 2
    covered = coverage(group_limits(n, make), group_chances(n, points), truth)
    return {"worst": float(covered.min()), "mean": float(covered.mean())}


def type_one(n):
    """Largest chance of p <= 5 % over a fine grid of base rates without an arm effect, %."""
    shares = np.linspace(0.0005, 0.5, 400)
    b, c, _ = paired_tables(n)
    chances = paired_chances(n, np.column_stack((shares, shares)))
    pairs = list(zip(b.tolist(), c.tolist(), strict=True))
    mcnemar = np.array([proportions.mcnemar_test(one, other, n).p for one, other in pairs])
    exact = np.array([paired_p(one, other, n, 0.0) for one, other in pairs])
    rates = np.linspace(0.0005, 0.9995, 400)
    of_groups = group_chances(n, np.column_stack((rates, rates)))
    groups = np.array([groups_p(x, n, y, n, 0.0) for x in range(n + 1) for y in range(n + 1)])
    return {
        "McNemar, exact": float(100 * (chances @ (mcnemar <= 0.05)).max()),
        "paired, unconditional": float(100 * (chances @ (exact <= 0.05)).max()),
        "groups, unconditional": float(100 * (of_groups @ (groups <= 0.05)).max()),
    }
