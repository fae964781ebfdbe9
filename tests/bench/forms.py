"""How much work the computer has from a press of a button to what the form shows.

python -m tests.bench.forms

Time of the processor in one warm process, on the demonstration: the median and the range of nine
presses after one to warm up. The table of this and of `forms_in_browser` is `measured_forms.md`.
"""

import os
import statistics
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

from pmulab import open_study, panels
from pmulab.tables import checking

PRESSES = 9


def steps() -> Iterator[tuple[str, Callable[[], object]]]:
    """Give each step of a form that is no simulation."""
    open_study()
    chosen = panels.ChooseStudy("demo-study")
    matters, analyse, share, records, fooled = (
        panels.Matters(chosen), panels.Analyse(chosen), panels.Share(chosen),
        panels.Records(chosen), panels.Fooled(),
    )  # fmt: skip
    spreads = iter(range(1000))

    def another_spread() -> None:
        matters.inputs["spread"].value = str(1.5 + next(spreads) / 100)

    def check_a_changed_file() -> None:
        checking._KEPT.clear()
        records.press()

    yield "Plan: another spread, new picture", another_spread
    yield "Luck: next client", fooled.press
    yield "Check, files unchanged", records.press
    yield "Check, files changed", check_a_changed_file
    yield "Analyse", analyse.press
    yield "Handout: show it first", share.preview
    yield "How far the study has come", chosen.press
    yield "Choose another study: all forms anew", chosen.moved_on


def took(step: Callable[[], object]) -> list[float]:
    """Give the milliseconds of each press after the first."""
    found = []
    for _ in range(PRESSES + 1):
        began = process_time()
        step()
        found.append(1000 * (process_time() - began))
    return found[1:]


def main() -> None:
    """Measure every step and print a table."""
    with TemporaryDirectory() as place:
        here = Path.cwd()
        os.chdir(place)
        for name, step in steps():
            ms = took(step)
            middle = statistics.median(ms)
            print(f"{name:52} {middle:6.0f} ms ({min(ms):.0f} to {max(ms):.0f})", flush=True)
        os.chdir(here)


if __name__ == "__main__":
    main()
