"""Read damaged files by the hundred thousand: nothing may crash, hang or eat the memory.

python -m tests.hostile.fuzz [cases]      (from the checkout; the default is 102,000)

Each process has at most 4 GB of address space, each case five seconds. Writes measured.md beside
this file. A case is made again by its kind and number: `hostile.reading.case(kind, number)`.
"""

import os
import resource
import sys
import warnings
from collections import Counter
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]
sys.path[:0] = [str(Path(__file__).resolve().parents[1] / "builders")]

from hostile.reading import READERS, case, fault_of
from time_limit import TookTooLong, within_seconds

HERE = Path(__file__).parent
SECONDS = 5
MOST_MEMORY = 1_000_000_000
_CHUNK = 250
_SLOW = {"workbook": 0.5, "practice workbook": 0.5}
"""Kinds that take long a case get a smaller share."""


def tried(kind: str, number: int, place: Path) -> str:
    """Read one case; what is wrong, or ''."""
    reader = READERS[kind]
    folder = place / "register" if kind == "register entry" else place
    folder.mkdir(exist_ok=True)
    path = folder / reader.file
    path.write_bytes(case(kind, number))
    try:
        with within_seconds(SECONDS), warnings.catch_warnings():
            warnings.simplefilter("error")
            return fault_of(reader, path)
    except TookTooLong:
        return f"took more than {SECONDS} s"


def _chunk(task):
    kind, first, count = task
    with TemporaryDirectory(prefix="pmulab-fuzz-") as folder:
        place = Path(folder)
        faults = [
            (kind, number, fault)
            for number in range(first, first + count)
            if (fault := tried(kind, number, place))
        ]
    return kind, count, faults, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def _limited():
    os.nice(15)
    resource.setrlimit(resource.RLIMIT_AS, (4_000_000_000, 4_000_000_000))


def run(total: int) -> tuple[Counter, list, int]:
    """Spread the cases over kinds and processors."""
    weights = {kind: _SLOW.get(kind, 1.0) for kind in READERS}
    whole = sum(weights.values())
    tasks = []
    for kind, weight in weights.items():
        count = -(-round(total * weight / whole) // _CHUNK) * _CHUNK if total > 5000 else total
        step = min(_CHUNK, count)
        tasks += [(kind, first, step) for first in range(0, count, step)]
    counts, faults, peak = Counter(), [], 0
    with get_context("spawn").Pool(os.cpu_count() or 1, _limited) as pool:
        for kind, count, found, memory in pool.imap_unordered(_chunk, tasks):
            counts[kind] += count
            faults += found
            peak = max(peak, memory)
            for one in found[:3]:
                print(*one, flush=True)
    return counts, faults, peak


def table(counts: Counter, faults: list, peak: int) -> str:
    """The figures as they are committed."""
    bad = Counter(kind for kind, _, _ in faults)
    rows = [f"| {kind} | {counts[kind]:,} | {bad[kind]} |" for kind in READERS]
    return "\n".join([
        "# Damaged files, read",
        "",
        "`python -m tests.hostile.fuzz`: real files, damaged; each read or refused in words that",
        f"name the file and the place, within {SECONDS} s. A fault is a crash, a hang, a refusal",
        "without file or place, or an error that only a net at the outermost caught.",
        "",
        "| kind | cases | faults |",
        "|---|---:|---:|",
        *rows,
        f"| all | {counts.total():,} | {len(faults)} |",
        "",
        f"Peak memory of a process: {peak / 1e6:.0f} MB.",
        "",
    ])  # fmt: skip


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 102_000
    counts, faults, peak = run(wanted)
    print(table(counts, faults, peak))
    for one in faults[:60]:
        print(*one)
    if wanted >= 100_000:
        (HERE / "measured.md").write_text(table(counts, faults, peak))
    sys.exit(bool(faults) or peak > MOST_MEMORY)
