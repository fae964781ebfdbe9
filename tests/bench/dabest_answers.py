"""Answers of the estimation library dabest, in the interpreter where it is installed.

    python dabest_answers.py samples.npz answers.npz 1000

It pins older numpy and pandas, so it is asked from outside (`dabest_peer.py`) and imports nothing
of ours. Its own two-group class gives the intervals; only its baseline curve and its tests, which
the interval does not use, are left out for time.
"""

import sys
import warnings

import numpy as np
from dabest import TwoGroupsEffectSize


class IntervalOnly(TwoGroupsEffectSize):
    def _get_bootstrap_baseline_ec(self):
        pass

    def _perform_statistical_test(self):
        pass


def limits(a, b, measure, pairing, resamples, seed):
    """Its bias-corrected limits of a - b, or not-a-number where it stops or gives none."""
    try:
        found = IntervalOnly(
            b, a, measure, is_paired=pairing, resamples=resamples, random_seed=seed
        )
    except (ValueError, ZeroDivisionError, IndexError):
        return np.nan, np.nan
    return found.bca_low, found.bca_high


def main() -> None:
    samples, answers, resamples = sys.argv[1:]
    given = np.load(samples)
    pairing = "baseline" if bool(given["paired"]) else None
    warnings.simplefilter("ignore")
    rows = list(enumerate(zip(given["a"], given["b"], strict=True)))
    found = {
        measure: np.array(
            [limits(a, b, measure, pairing, int(resamples), seed) for seed, (a, b) in rows],
            dtype=float,
        )
        for measure in ("mean_diff", "hedges_g")
    }
    np.savez(answers, **found)


if __name__ == "__main__":
    main()
