"""Measure coverage, width, error rates and speed, and write them to `measured.md`.

    PYTHONPATH=tests python -m bench.measure all --replicates 20000 --peer-replicates 2000

Parts: `intervals` (one shape with --shape, one design with --design, some intervals with --makers),
`yes-no`, `tests`, `levels`, `speed`. Every part adds to `measured.json` as it goes; the table is
written anew from it each time. `dabest`, which needs the path of an interpreter where that library
is installed (--dabest-python), is not part of `all`.
"""

import argparse
import itertools
import json
from dataclasses import asdict
from pathlib import Path

import numpy as np
import scipy

from . import dabest_peer, intervals, levels, report, speed, yes_no
from .shapes import RARE_JUMPS, SHAPES

HERE = Path(__file__).parent
SIZES = (5, 6, 8, 10, 12, 16, 20)
PEER_SIZES = (5, 8, 12, 20)


def chosen_of(makers, wanted):
    """Only the intervals asked for by name; all when none is named."""
    return {name: make for name, make in makers.items() if not wanted or name in wanted}


def measure_intervals(chosen):
    for shape in (*SHAPES, RARE_JUMPS):
        if chosen.shape and chosen.shape != shape.name:
            continue
        for is_paired in (True, False):
            if chosen.design in ("both", "paired" if is_paired else "groups"):
                keep(shape_cells(shape, is_paired, chosen))


def shape_cells(shape, is_paired, chosen):
    """Measure one population and design at every number of clients."""
    found = {}
    design = "paired" if is_paired else "groups"
    ours = intervals.OURS_PAIRED if is_paired else intervals.OURS_GROUPS
    quick = chosen_of({**ours, **intervals.baselines(is_paired)}, chosen.makers)
    slow = chosen_of(intervals.peers(is_paired), chosen.makers) if chosen.peer_replicates else {}
    for n in SIZES:
        cells = intervals.cell(shape, n, is_paired, quick, chosen.replicates)
        if n in PEER_SIZES:
            cells |= intervals.cell(shape, n, is_paired, slow, chosen.peer_replicates)
        for name, cell in cells.items():
            found[f"intervals|{design}|{shape.name}|{n}|{name}"] = asdict(cell)
        print(design, shape.name, n, flush=True)
    return found


def measure_dabest(chosen):
    keep({"dabest": {"samples": chosen.peer_replicates, "resamples": chosen.resamples}})
    for shape in (*SHAPES, RARE_JUMPS):
        if chosen.shape and chosen.shape != shape.name:
            continue
        found = {}
        for is_paired, n in itertools.product((True, False), PEER_SIZES):
            design = "paired" if is_paired else "groups"
            cells = dabest_peer.cells(
                chosen.dabest_python, shape, n, is_paired, chosen.peer_replicates, chosen.resamples
            )
            for name, cell in cells.items():
                found[f"intervals|{design}|{shape.name}|{n}|{name}"] = asdict(cell)
            print("dabest", design, shape.name, n, flush=True)
        keep(found)


def measure_yes_no():
    found = {}
    for n in SIZES:
        found[f"yes-no|paired|{n}"] = yes_no.paired_rows(n)
        found[f"yes-no|groups|{n}"] = yes_no.group_rows(n)
        found[f"yes-no|probability|{n}"] = yes_no.probability_rows(n)
        found[f"yes-no|type one|{n}"] = yes_no.type_one(n)
        print("yes/no", n, flush=True)
    return found


def measure_tests(replicates):
    found = {}
    for shape, n in itertools.product(SHAPES, (6, 8, 12)):
        found[f"type one|{shape.name}|{n}"] = {
            "replicates": replicates,
            **levels.type_one(shape, n, replicates),
        }
        print("type one", shape.name, n, flush=True)
    return found


def measure_levels(replicates):
    found = {}
    for n, share in ((8, 0.5), (12, 0.5), (20, 0.5), (12, 0.75), (20, 0.75), (11, 6 / 11)):
        for shift in (0.0, 0.5, 1.0, 3.0):
            found[f"order|{n}|{share:.2f}|{shift}"] = levels.order_effect(
                n, share, shift, replicates
            )
    for n in SIZES:
        for is_paired in (True, False):
            design = "paired" if is_paired else "groups"
            found[f"jumps|{design}|{n}"] = levels.jumps(n, is_paired, replicates // 4)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parts = ("all", "intervals", "yes-no", "tests", "levels", "speed", "dabest", "table")
    parser.add_argument("part", choices=parts)
    parser.add_argument("--replicates", type=int, default=20_000)
    parser.add_argument("--peer-replicates", type=int, default=1_000)
    parser.add_argument("--dabest-python", type=Path)
    parser.add_argument("--resamples", type=int, default=1_000, help="for dabest")
    parser.add_argument("--shape", default="")
    parser.add_argument("--design", choices=("both", "paired", "groups"), default="both")
    parser.add_argument("--makers", nargs="*", default=[], help="names as in the tables")
    chosen = parser.parse_args()
    if chosen.part in ("all", "intervals"):
        measure_intervals(chosen)
    if chosen.part == "dabest":
        measure_dabest(chosen)
    if chosen.part in ("all", "yes-no"):
        keep(measure_yes_no())
    if chosen.part in ("all", "tests"):
        keep(measure_tests(chosen.replicates))
    if chosen.part in ("all", "levels"):
        keep(measure_levels(chosen.replicates))
    if chosen.part in ("all", "speed"):
        keep({"speed": speed.rows()})
    keep({"versions": {"numpy": np.__version__, "scipy": scipy.__version__}})


def keep(found: dict[str, object]) -> None:
    """Add to what was measured before, and write the table anew."""
    store = HERE / "measured.json"
    before = json.loads(store.read_text(encoding="utf-8")) if store.exists() else {}
    text = json.dumps(before | found, indent=0, sort_keys=True, allow_nan=False)
    store.write_text(text + "\n", encoding="utf-8")
    (HERE / "measured.md").write_text(report.table(json.loads(text)), encoding="utf-8")


if __name__ == "__main__":
    main()
