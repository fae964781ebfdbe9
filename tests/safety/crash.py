"""Kill every command that writes, at every point and at random; print what became of it.

PYTHONPATH=tests python -m safety.crash > tests/safety/measured_crashes.md
"""

import random
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from safety.commands import COMMANDS
from safety.trials import table, whole_trial

_QUICK = 0.6


def _points(seconds):
    return None if seconds < _QUICK else 8


def _blows(seconds):
    return 10 if seconds < _QUICK else 4


def _tally(number):
    command = COMMANDS[number]
    with tempfile.TemporaryDirectory() as place:
        return whole_trial(
            command, Path(place) / "trial", random.Random(number), _points, _blows
        )  # fmt: skip


def main():
    """Run all trials: every point of quick commands, some of slow ones."""
    begun, tallies = time.monotonic(), []
    with ProcessPoolExecutor(3) as workers:
        for tally in workers.map(_tally, range(len(COMMANDS))):
            tallies.append(tally)
            print(tally.name, f"{time.monotonic() - begun:.0f} s", *tally.faults, sep="\n",
                  file=sys.stderr, flush=True)  # fmt: skip
    print("# Kills of every command that writes\n")
    print(table(tallies, begun))


if __name__ == "__main__":
    main()
