"""Measure coverage, width, error rates and speed, and write them to `measured.md`.

    PYTHONPATH=tests python -m bench.measure all --replicates 20000 --peer-replicates 2000

Parts: `intervals` (one shape at a time with --shape), `yes-no`, `levels`, `speed`. Every part adds
to `measured.json`; the table is written anew from it each time.
"""

import argparse
import json
from dataclasses import asdict
from pathlib import Path

import numpy as np
import scipy

from . import intervals, levels, report, speed, yes_no
from .shapes import RARE_JUMPS, SHAPES

HERE = Path(__file__).parent
SIZES = (5, 6, 8, 10, 12, 16, 20)
PEER_SIZES = (5, 8, 12, 20)


def measure_intervals(found, replicates, peer_replicates, only):
    for shape in (*SHAPES, RARE_JUMPS):
        if only and only != shape.name:
            continue
        for is_paired in (True, False):
            design = "paired" if is_paired else "groups"
            ours = intervals.OURS_PAIRED if is_paired else intervals.OURS_GROUPS
            for n in SIZES:
                makers = {**ours, **intervals.baselines(is_paired)}
                cells = intervals.cell(shape, n, is_paired, makers, replicates)
                if n in PEER_SIZES and peer_replicates:
                    slow = intervals.peers(is_paired)
                    cells |= intervals.cell(shape, n, is_paired, slow, peer_replicates)
                for name, cell in cells.items():
                    found[f"intervals|{design}|{shape.name}|{n}|{name}"] = asdict(cell)
                print(design, shape.name, n, flush=True)


def measure_yes_no(found):
    for n in SIZES:
        found[f"yes-no|paired|{n}"] = yes_no.paired_rows(n)
        found[f"yes-no|groups|{n}"] = yes_no.group_rows(n)
        found[f"yes-no|probability|{n}"] = yes_no.probability_rows(n)
        found[f"yes-no|type one|{n}"] = yes_no.type_one(n)
        print("yes/no", n, flush=True)


def measure_levels(found, replicates):
    for shape in SHAPES:
        for n in (6, 8, 12):
            found[f"type one|{shape.name}|{n}"] = {
                "replicates": replicates // 4,
                **levels.type_one(shape, n, replicates // 4),
            }
            print("type one", shape.name, n, flush=True)
    for n, share in ((8, 0.5), (12, 0.5), (20, 0.5), (12, 0.75), (20, 0.75), (11, 6 / 11)):
        for shift in (0.0, 0.5, 1.0, 3.0):
            found[f"order|{n}|{share:.2f}|{shift}"] = levels.order_effect(
                n, share, shift, replicates
            )
    for n in SIZES:
        for is_paired in (True, False):
            design = "paired" if is_paired else "groups"
            found[f"jumps|{design}|{n}"] = levels.jumps(n, is_paired, replicates // 4)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("part", choices=("all", "intervals", "yes-no", "levels", "speed", "table"))
    parser.add_argument("--replicates", type=int, default=20_000)
    parser.add_argument("--peer-replicates", type=int, default=1_000)
    parser.add_argument("--shape", default="")
    chosen = parser.parse_args()
    store = HERE / "measured.json"
    found: dict[str, object] = {}
    if chosen.part in ("all", "intervals"):
        measure_intervals(found, chosen.replicates, chosen.peer_replicates, chosen.shape)
    if chosen.part in ("all", "yes-no"):
        measure_yes_no(found)
    if chosen.part in ("all", "levels"):
        measure_levels(found, chosen.replicates)
    if chosen.part in ("all", "speed"):
        found["speed"] = speed.rows()
    found["versions"] = {"numpy": np.__version__, "scipy": scipy.__version__}
    before = json.loads(store.read_text(encoding="utf-8")) if store.exists() else {}
    found = before | found
    text = json.dumps(found, indent=0, sort_keys=True, allow_nan=False)
    store.write_text(text + "\n", encoding="utf-8")
    (HERE / "measured.md").write_text(report.table(found), encoding="utf-8")


if __name__ == "__main__":
    main()
