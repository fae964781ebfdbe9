"""Permutation and randomisation tests, exact, quick, with the smallest p they could have given."""

import numpy as np

from pmulab.estimate.inputs import Floats, Values, finite
from pmulab.estimate.results import Test
from pmulab.estimate.subset_sums import LISTED, common_step, share_of_flips, share_of_labels

SMALLEST = 1e-300


def sign_flip_test(differences: Values) -> Test:
    """Test of the mean paired difference under all changes of sign.

    Exact when the differences are symmetric about zero under no effect. It is not the
    randomisation test of a study allocated in blocks: that is `schedule_test`.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Paired differences a - b, in the outcome's unit.

    Returns
    -------
    Test
        Two-sided; `statistic` is the total of the differences. Differences of zero cannot change
        sign: `smallest_p` counts the others.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] R. A. Fisher (1935), The Design of Experiments, section 21.
    """
    d = finite(differences, "differences")
    moving = d[d != 0]
    if moving.size == 0:
        return _nothing_to_tell(d.size, "exact sign-flip test of the total", "difference")
    total = float(moving.sum())
    return Test(
        p=max(share_of_flips(moving, total), SMALLEST),
        method=f"{_exactness(moving)}sign-flip test of the total",
        n=d.size,
        smallest_p=max(2.0 ** (1 - moving.size), SMALLEST),
        statistic=total,
    )


def signed_rank_test(differences: Values) -> Test:
    """Wilcoxon's signed-rank test, exact with ties.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Paired differences a - b; zeros are left out, equal sizes share their mean rank.

    Returns
    -------
    Test
        Two-sided; `statistic` is V, the sum of the ranks of the positive differences.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] M. Hollander and D. A. Wolfe (1973), Nonparametric Statistical Methods, section 3.1.
    """
    d = finite(differences, "differences")
    moving = d[d != 0]
    if moving.size == 0:
        return _nothing_to_tell(d.size, "exact signed-rank test", "difference")
    ranks = _mean_ranks(np.abs(moving))
    signed = np.where(moving > 0, ranks, -ranks)
    return Test(
        p=max(share_of_flips(signed, float(signed.sum())), SMALLEST),
        method="exact signed-rank test (V), zeros left out",
        n=d.size,
        smallest_p=max(2.0 ** (1 - moving.size), SMALLEST),
        statistic=float(ranks[moving > 0].sum()),
    )


def label_test(a: Values, b: Values) -> Test:
    """Test of the difference of two group means under all relabellings of the clients.

    Parameters
    ----------
    a : array-like of shape (n_a,)
    b : array-like of shape (n_b,)
        Different clients in the two groups, in the outcome's unit.

    Returns
    -------
    Test
        Two-sided; `statistic` is the difference of the means, a - b.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] E. J. G. Pitman (1937), J. R. Stat. Soc. Suppl. 4:119-130.
    """
    group_a, group_b = finite(a, "a"), finite(b, "b")
    n_a, n = group_a.size, group_a.size + group_b.size
    method = "exact label permutation test of the difference of means"
    if min(n_a, n - n_a) == 0:
        return Test(p=None, method=method, n=n, note="One of the two groups has no clients.")
    pooled = np.concatenate((group_a, group_b))
    if np.ptp(pooled) == 0:
        return _nothing_to_tell(n, method, "value")
    centred = pooled - pooled.mean()
    p = share_of_labels(centred, n_a, float(centred[:n_a].sum()))
    return Test(
        p=max(p, SMALLEST),
        method=_exactness(centred - centred.min())
        + "label permutation test of the difference of means",
        n=n,
        smallest_p=max(_smallest_label_share(centred, n_a), SMALLEST),
        statistic=float(group_a.mean() - group_b.mean()),
    )


def rank_sum_test(a: Values, b: Values) -> Test:
    """Rank-sum test of Wilcoxon, Mann and Whitney, exact with ties.

    Parameters
    ----------
    a : array-like of shape (n_a,)
    b : array-like of shape (n_b,)
        Different clients in the two groups; equal values share their mean rank.

    Returns
    -------
    Test
        Two-sided; `statistic` is U, the number of pairs in which a is higher, ties one half.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] H. B. Mann and D. R. Whitney (1947), Ann. Math. Stat. 18:50-60.
    """
    group_a, group_b = finite(a, "a"), finite(b, "b")
    n_a = group_a.size
    ranks = _mean_ranks(np.concatenate((group_a, group_b)))
    test = label_test(ranks[:n_a], ranks[n_a:])
    return Test(
        p=test.p,
        method="exact rank-sum test (U)",
        n=test.n,
        smallest_p=test.smallest_p,
        statistic=float(ranks[:n_a].sum()) - n_a * (n_a + 1) / 2 if n_a else None,
        note=test.note,
    )


def _nothing_to_tell(n: int, method: str, what: str) -> Test:
    note = f"Every {what} is the same: no arrangement can tell the arms apart."
    if n == 0:
        return Test(p=None, method=method, n=0, note="There are no clients to compare.")
    return Test(p=1.0, method=method, n=n, smallest_p=1.0, statistic=0.0, note=note)


def _exactness(values: Floats) -> str:
    listed = values.size <= LISTED or common_step(values) > 0
    return "exact " if listed else "conservative (rounded to a fine grid) "


def _mean_ranks(values: Floats) -> Floats:
    _, place, count = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(count)
    ranks: Floats = (last - (count - 1) / 2)[place]
    return ranks


def _smallest_label_share(centred: Floats, n_a: int) -> float:
    ordered = np.sort(centred)
    most = max(-float(ordered[:n_a].sum()), float(ordered[-n_a:].sum()))
    return share_of_labels(centred, n_a, most)
