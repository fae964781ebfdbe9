"""One kill after another: was everything whole, and did the next run go on?"""

import os
import re
import shutil
import time
from dataclasses import dataclass, field
from pathlib import Path

from safety.commands import STUDY, build
from safety.killing import Points, forked, points_of, torn_at
from safety.whole import contents, doubled, events, faults, left_behind

from pmulab.study import Study


@dataclass
class Tally:
    """What became of the kills of one command."""

    name: str
    points: int = 0
    seconds: float = 0.0
    kills: int = 0
    ended: int = 0  # runs that were done before the blow came
    faults: list = field(default_factory=list)


class Trial:
    """A command, the folder it starts from, and what it leaves without a kill."""

    def __init__(self, command, place):
        self.command, self.place = command, Path(place)
        self.root = self.place / "root"  # always one path, as pages may name it
        build(command.base, self.root)
        self.base = self.place / "base"
        shutil.copytree(self.root, self.base)
        self.before = contents(self.root)
        self.run()  # what it loads is loaded once, here, and not in every fork
        self._restored()
        answer, points, seconds = points_of(self.run, self.root, self.place / "tally")
        if answer is None or answer[0] != "done":
            raise RuntimeError(f"{command.name} does not run: {answer}")
        self.after, self.events = contents(self.root), self._events()
        self.tally = Tally(command.name, points, seconds)

    def run(self):
        """Run the command."""
        return self.command.run(self.root)

    def at_point(self, number):
        """Kill it just before it touches a file for the nth time."""
        self._killed(f"point {number}", prepare=Points(self.root, at=number))

    def at_random(self, rng):
        """Kill it from outside after a random part of its usual time."""
        delay = rng.uniform(0, self.tally.seconds)
        self._killed(f"after {delay:.3f} s", kill_after=delay)

    def torn(self, rng):
        """Kill it in the middle of writing a file."""
        sizes = [len(data) for name, data in self.after.items() if data != self.before.get(name)]
        journal = len(self.before.get(f"{STUDY}/journal.jsonl", b""))
        size = rng.choice([journal + rng.randrange(1, 200), rng.randrange(1, max(sizes) + 1)])
        self._killed(f"torn at {size} bytes", prepare=torn_at(size))

    def refused(self, how, prepare):
        """Let the disk refuse: told in words, nothing lost; give the words."""
        self._restored()
        answer = forked(self.run, prepare)
        told = answer or ("killed", "")
        if told[0] not in ("refused", "done"):
            self.tally.faults.append(f"{how}: {told}")
        self.tally.kills += 1
        self.tally.faults += [f"{how}: {one}" for one in faults(self.root, self.before, self.after)]
        self._goes_on(how)
        return told

    def _killed(self, how, **blow):
        self._restored()
        answer = forked(self.run, **blow)
        if answer is None:
            self.tally.kills += 1
        else:
            self.tally.ended += 1
            if answer[0] == "broke":
                self.tally.faults.append(f"{how}: {answer[1]}")
        self.tally.faults += [f"{how}: {one}" for one in faults(self.root, self.before, self.after)]
        self._goes_on(how)

    def _goes_on(self, how):
        for path in left_behind(self.root):
            os.utime(path, (0, 0))  # elsewhere than in a study only old ones are cleared away
        kind, told = forked(self.run) or ("killed", "")
        if kind != "done" and not re.search(self.command.finished, told):
            self.tally.faults.append(f"{how}, then again: {kind}: {told}")
        found = faults(self.root, self.before, self.after)
        if (self.root / STUDY / "journal.jsonl").exists():
            with Study(self.root / STUDY).writing():
                pass
            found += doubled(self.root / STUDY)
            found += Study(self.root / STUDY).tampering()
            lacking = self.events - self._events()
            found += [f"the journal lacks {lacking}"] if lacking else []
        found += [f"left behind: {one}" for one in left_behind(self.root)]
        found += [f"never written: {name}" for name in self.after if self._lacks(name)]
        self.tally.faults += [f"{how}, then again: {one}" for one in found]

    def _lacks(self, name):
        return not (self.root / re.sub(r"round-01", "round-0?", name)).exists() and not list(
            self.root.glob(re.sub(r"round-\d\d", "round-*", name))
        )

    def _restored(self):
        shutil.rmtree(self.root)
        shutil.copytree(self.base, self.root)

    def _events(self):
        known = (self.root / STUDY / "journal.jsonl").exists()
        return events(self.root / STUDY) if known else set()


def whole_trial(command, place, rng, points, blows):
    """Kill a command at its points and at random moments; give its tally.

    `points` and `blows` say, of the seconds that it takes, at how many of its points it is killed
    (None: all) and how many random kills and torn writes it gets.
    """
    trial = Trial(command, place)
    every, some = range(trial.tally.points), points(trial.tally.seconds)
    chosen = every if some is None or some >= len(every) else sorted(rng.sample(every, some))
    for number in chosen:
        trial.at_point(number)
    for _ in range(blows(trial.tally.seconds)):
        trial.at_random(rng)
        trial.torn(rng)
    return trial.tally


def table(tallies, begun):
    """Write down what was measured, as a table."""
    lines = [
        "| command | points | kills | ended before | faults |",
        "|---|---:|---:|---:|---:|",
        *(f"| {t.name} | {t.points} | {t.kills} | {t.ended} | {len(t.faults)} |" for t in tallies),
        f"| all | {sum(t.points for t in tallies)} | {sum(t.kills for t in tallies)} | "
        f"{sum(t.ended for t in tallies)} | {sum(len(t.faults) for t in tallies)} |",
        "",
        f"{time.monotonic() - begun:.0f} s.",
    ]
    return "\n".join(lines)
