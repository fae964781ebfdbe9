"""How often the pooled interval holds the average, and the prediction interval the next studio.

    PYTHONPATH=tests python -m bench.pooled_coverage 2000

Invented groups: studies of 6 to 20 clients whose own spread is estimated from them, as it is in
life; true differences between studios with a standard deviation of 0, 0.5 or 1 typical error.
"""

import sys

import numpy as np

from pmulab.estimate.pooling import pooled
from pmulab.estimate.prediction import next_study

SIZES = np.array([6, 8, 10, 12, 16, 20])


def invented_group(k: int, tau: float, rng) -> tuple[list[float], list[float]]:
    """Differences of so many studies, and their errors as each study would estimate them."""
    n = rng.choice(SIZES, k)
    true = rng.normal(0, tau, k)
    samples = [rng.normal(mean, np.sqrt(10), size) for mean, size in zip(true, n, strict=True)]
    effects = [sample.mean() for sample in samples]
    return effects, [sample.std(ddof=1) / np.sqrt(sample.size) for sample in samples]


def next_held(k: int, tau: float, groups: int, seed: int = 11) -> dict[str, float]:
    """Per cent of groups in which a range holds the next studio, and its median width."""
    rng = np.random.default_rng(seed)
    held, widths = {"drawn": 0, "t": 0}, {"drawn": [], "t": []}
    for _ in range(groups):
        effects, errors = invented_group(k, tau, rng)
        ranges = {
            "drawn": next_study(effects, errors, draws=2_000),
            "t": pooled(effects, errors).prediction,
        }
        following = rng.normal(0, tau)
        for name, one in ranges.items():
            held[name] += one.low <= following <= one.high
            widths[name].append(one.high - one.low)
    return {name: 100 * count / groups for name, count in held.items()} | {
        f"{name} width": float(np.median(width)) for name, width in widths.items()
    }


def coverage(k: int, tau: float, spread: str, groups: int, seed: int = 10) -> dict[str, float]:
    """Share of groups in which each interval holds what it is for, in per cent."""
    rng = np.random.default_rng(seed)
    held = {"classical": 0, "modified": 0, "width": 0.0}
    for _ in range(groups):
        effects, errors = invented_group(k, tau, rng)
        found = pooled(effects, errors, spread=spread)
        held["classical"] += found.classical.low <= 0 <= found.classical.high
        held["modified"] += found.interval.low <= 0 <= found.interval.high
        held["width"] += found.interval.high - found.interval.low
    width = held.pop("width") / groups
    return {name: 100 * count / groups for name, count in held.items()} | {"width": width}


def main(groups: int) -> None:
    print("| k | tau | spread | classical | modified HK | width |")
    print("|---|---|---|---|---|---|")
    for spread in ("REML", "Paule-Mandel"):
        for k in (3, 4, 5, 8, 12):
            for tau in (0.0, 0.5, 1.0):
                row = coverage(k, tau, spread, groups)
                print(
                    f"| {k} | {tau:g} | {spread} | {row['classical']:.1f} | {row['modified']:.1f} "
                    f"| {row['width']:.2f} |",
                    flush=True,
                )
    print("\n| k | tau | drawn | its width | t(k - 2) | its width |\n|---|---|---|---|---|---|")
    for k in (3, 4, 5, 6, 7, 8, 12, 20):
        for tau in (0.0, 0.5, 1.0, 2.0):
            row = next_held(k, tau, groups)
            print(
                f"| {k} | {tau:g} | {row['drawn']:.1f} | {row['drawn width']:.1f} "
                f"| {row['t']:.1f} | {row['t width']:.1f} |",
                flush=True,
            )


if __name__ == "__main__":
    main(int(sys.argv[1]))
