"""Answers turned into what a printed table shows, for the checks in the TOML files beside this."""

from math import sqrt

import numpy as np

from pmulab.estimate import independent, paired
from pmulab.estimate.permutation import label_test, rank_sum_test, sign_flip_test, signed_rank_test
from pmulab.estimate.proportions import mcnemar_test, zero_events_upper_limit
from pmulab.estimate.score import tango_score
from pmulab.estimate.shift import small_sample_factor, t_interval


def signed_rank_critical_value(n):
    """Largest rank sum of the rarer sign with a two-sided p of at most 5 %."""
    found = None
    for total in range(n * (n + 1) // 4 + 1):
        ranks, left = np.arange(1.0, n + 1), total
        for rank in range(n, 0, -1):
            if rank <= left:
                ranks[rank - 1], left = -rank, left - rank
        if signed_rank_test(ranks).p > 0.05:
            return found
        found = total
    return found


def sign_test_critical_value(n):
    found = [k for k in range(n // 2 + 1) if mcnemar_test(k, n - k, n).p <= 0.05]
    return max(found, default=None)


def rank_sum_critical_value(n_a, n_b):
    """Largest U with a two-sided p of at most 5 %."""
    found = None
    for u in range(n_a * n_b // 2 + 1):
        shifts, left = [], u
        for _ in range(n_a):
            shifts.append(min(left, n_b))
            left -= shifts[-1]
        places = [i + shift for i, shift in enumerate(sorted(shifts))]
        b = [place for place in range(n_a + n_b) if place not in places]
        test = rank_sum_test(places, b)
        assert test.statistic == u
        if test.p > 0.05:
            return found
        found = u
    return found


def smallest_sign_flip_p(n):
    return sign_flip_test(np.arange(1.0, n + 1)).smallest_p


def t_point(df):
    return t_interval(0.0, 1.0, df, 0.95, "t").high


def hedges_factor(m):
    return small_sample_factor(m)


def upper_tail_of_t(d):
    """Student's probability that the mean is above zero."""
    return 1 - paired.t_test(d, np.zeros(len(d))).p / 2


def alternating(first, a, b, repeat):
    """Mean and spread of one value followed by two values in turn."""
    x = [float(first), *[float(a), float(b)] * repeat]
    zeros = np.zeros(len(x))
    return {
        "mean": paired.t_mean_difference(x, zeros).value,
        "sd": paired.sd_of_differences(x, zeros).value,
    }


def residual_sd(groups):
    """Residual standard deviation of a one-way layout from the spreads of its groups."""
    squares = [
        (len(x) - 1) * paired.sd_of_differences(x, np.zeros(len(x))).value ** 2 for x in groups
    ]
    return sqrt(sum(squares) / sum(len(x) - 1 for x in groups))


def groups_with(m1, sd1, n1, m2, sd2, n2):
    """Standardised and plain difference of two groups with exactly these means and spreads."""
    a, b = _shaped(m1, sd1, n1), _shaped(m2, sd2, n2)
    return {
        "g": independent.standardised_difference(a, b).value,
        "d": independent.standardised_difference(a, b).value / small_sample_factor(n1 + n2 - 2),
        "md": independent.welch_mean_difference(a, b).value,
    }


def _shaped(mean, sd, n):
    x = np.arange(n, dtype=float)
    return mean + sd * (x - x.mean()) / x.std(ddof=1)


def u_of_order(order, animal):
    """Pairs in which this animal comes in before one of the other kind."""
    place = np.arange(len(order))
    mine = np.array([one == animal for one in order])
    return rank_sum_test(place[~mine], place[mine]).statistic


def rule_of_three(n):
    return [100 * zero_events_upper_limit(n).interval.high, 100 * 3 / n]


def mcnemar_chi_squared(b, c, n):
    return float(tango_score(b, c, n, 0.0)) ** 2


def fisher_p(table):
    """Two-sided p of a fourfold table as a label permutation of zeros and ones."""
    (a, b), (c, d) = table
    return label_test([1] * a + [0] * b, [1] * c + [0] * d).p
