"""A general-purpose estimation library beside ours, on the first samples of the same cells."""

import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from . import intervals
from .shapes import Shape, truths

MEASURES = {
    "dabest mean": ("mean difference", "mean_diff"),
    "dabest g": ("standardised", "hedges_g"),
}
"""Name in the tables: our truth, its effect size."""


def cells(
    python: Path, shape: Shape, n: int, is_paired: bool, replicates: int, resamples: int
) -> dict[str, intervals.Cell]:
    """Ask the library in its own interpreter, and count as for all others."""
    a, b = intervals.samples(shape, n, is_paired, replicates)
    with TemporaryDirectory() as folder:
        asked, answered = Path(folder) / "samples.npz", Path(folder) / "answers.npz"
        np.savez(asked, a=a, b=b, paired=is_paired)
        script = Path(__file__).with_name("dabest_answers.py")
        subprocess.run(
            [str(python), str(script), str(asked), str(answered), str(resamples)],
            check=True,
            capture_output=True,
        )
        with np.load(answered) as answers:
            truth = truths(shape, is_paired)
            return {
                name: intervals.counted(
                    [pair if np.isfinite(pair).all() else None for pair in answers[its]],
                    truth[measure],
                )
                for name, (measure, its) in MEASURES.items()
            }
