"""Could the assessor tell the arms apart? Bang's index and the test of guesses."""

from dataclasses import replace

from pmulab.estimate.inputs import check_level
from pmulab.estimate.proportions import paired_risk_difference
from pmulab.estimate.results import Estimate, Test


def bang_index(correct: int, wrong: int, dont_know: int, *, level: float = 0.95) -> Estimate:
    """Bang's blinding index of one arm: right guesses minus wrong ones, per assessment.

    Parameters
    ----------
    correct, wrong, dont_know : int
        Assessments of this arm with the arm guessed, with the other arm guessed, with no guess.
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        From -1 (always wrong) over 0 (no better than tossing a coin) to 1 (always right);
        `n` counts assessments. Right minus wrong is a difference of two shares of the same
        assessments, so it has the exact interval of `proportions.paired_risk_difference`,
        where Bang's own large-sample one can have no width. None without assessments.

    Raises
    ------
    ValueError
        If a count is negative or level lies outside (0, 1).

    References
    ----------
    .. [1] H. Bang, L. Ni, C. E. Davis (2004), Controlled Clinical Trials 25:143-156.
    """
    check_level(level)
    if min(correct, wrong, dont_know) < 0:
        raise ValueError(f"counts must be 0 or more, got {(correct, wrong, dont_know)}")
    n = correct + wrong + dont_know
    method = "Bang's blinding index"
    if n == 0:
        return Estimate(None, 0, method, note="Nobody was asked for a guess.")
    return replace(paired_risk_difference(correct, wrong, n, level), method=method, unit="")


def guess_test(correct: int, wrong: int) -> Test:
    """Test whether guesses are right more often than a coin would be.

    Parameters
    ----------
    correct, wrong : int
        Guesses, one a client; 'don't know' is left out.

    Returns
    -------
    Test
        One-sided exact binomial test against one half; `statistic` is the number right.

    Raises
    ------
    ValueError
        If a count is negative.
    """
    from scipy import stats

    if min(correct, wrong) < 0:
        raise ValueError(f"counts must be 0 or more, got {(correct, wrong)}")
    n = correct + wrong
    method = "exact binomial test, one-sided: number of right guesses against one half"
    if n == 0:
        return Test(None, method, 0, note="Nobody made a guess.")
    smallest = 0.5**n
    p = max(smallest, float(stats.binomtest(correct, n, 0.5, alternative="greater").pvalue))
    note = "" if n >= 5 else f"{n} guesses cannot show that the assessor knew: five or more could."
    return Test(min(1.0, p), method, n, smallest, float(correct), note=note)
