"""How often the pooled interval holds the average, and the prediction interval the next studio.

    PYTHONPATH=tests python -m bench.pooled_coverage 2000

Invented groups: studies of 6 to 20 clients whose own spread is estimated from them, as it is in
life; true differences between studios with a standard deviation of 0, 0.5 or 1 typical error.
"""

import sys

import numpy as np

from pmulab.estimate.pooling import pooled

SIZES = np.array([6, 8, 10, 12, 16, 20])


def coverage(k: int, tau: float, spread: str, groups: int, seed: int = 10) -> dict[str, float]:
    """Share of groups in which each interval holds what it is for, in per cent."""
    rng = np.random.default_rng(seed)
    held = {"classical": 0, "modified": 0, "next": 0, "width": 0.0}
    for _ in range(groups):
        n = rng.choice(SIZES, k)
        true = rng.normal(0, tau, k)
        samples = [rng.normal(mean, np.sqrt(10), size) for mean, size in zip(true, n, strict=True)]
        effects = [sample.mean() for sample in samples]
        errors = [sample.std(ddof=1) / np.sqrt(sample.size) for sample in samples]
        found = pooled(effects, errors, spread=spread)
        held["classical"] += found.classical.low <= 0 <= found.classical.high
        held["modified"] += found.interval.low <= 0 <= found.interval.high
        held["width"] += found.interval.high - found.interval.low
        if found.prediction is not None:
            held["next"] += found.prediction.low <= rng.normal(0, tau) <= found.prediction.high
    width = held.pop("width") / groups
    return {name: 100 * count / groups for name, count in held.items()} | {"width": width}


def main(groups: int) -> None:
    print("| k | tau | spread | classical | modified HK | next studio | width |")
    print("|---|---|---|---|---|---|---|")
    for spread in ("REML", "Paule-Mandel"):
        for k in (3, 4, 5, 8, 12):
            for tau in (0.0, 0.5, 1.0):
                row = coverage(k, tau, spread, groups)
                following = f"{row['next']:.1f}" if k > 3 else "–"
                print(
                    f"| {k} | {tau:g} | {spread} | {row['classical']:.1f} | {row['modified']:.1f} "
                    f"| {following} | {row['width']:.2f} |",
                    flush=True,
                )


if __name__ == "__main__":
    main(int(sys.argv[1]))
