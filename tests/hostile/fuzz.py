"""Read damaged files by the hundred thousand: nothing may crash, hang or eat the memory.

python -m tests.hostile.fuzz [share]      (from the checkout; 1 is the full form, 100,900 cases)

Each process has at most 4 GB of address space, each case five seconds of computing. Writes
measured.md beside this file. `hostile.reading.case(kind, number)` makes a case again.
"""

import os
import resource
import sys
import warnings
from collections import Counter
from math import ceil
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "builders"))

from time_limit import TookTooLong, within_seconds

from hostile.reading import READERS, case, fault_of

HERE = Path(__file__).parent
SECONDS = 5
MOST_MEMORY = 1_000_000_000
_CHUNK = 310
_QUICK, _SHARES = 9_300, {
    "pack": 5_000, "enrol answers": 1_500, "practice table": 400, "practice workbook": 400,
    "clients table": 150, "sessions table": 150, "events table": 150, "workbook": 150,
}  # fmt: skip
"""Cases of each kind in the full form: a table with all its rules takes a hundred times as long."""


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
        return f"computed for more than {SECONDS} s"


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
    os.nice(1)
    resource.setrlimit(resource.RLIMIT_AS, (4_000_000_000, 4_000_000_000))


def run(share: float) -> tuple[Counter, list, int]:
    """Spread the cases, or a share of them, over kinds and processors."""
    tasks = []
    for kind in sorted(READERS, key=_SHARES.__contains__):
        count = ceil(_SHARES.get(kind, _QUICK) * share)
        step = _CHUNK if kind not in _SHARES else 50
        tasks += [(kind, n, min(step, count - n)) for n in range(0, count, step)]
    counts, faults, peak = Counter(), [], 0
    with get_context("spawn").Pool(os.cpu_count() or 1, _limited) as pool:
        for kind, count, found, memory in pool.imap_unordered(_chunk, tasks):
            counts[kind] += count
            faults += found
            peak = max(peak, memory)
            print(f"\r{counts.total():,} cases, {len(faults)} faults", end="", flush=True)
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
        f"name the file and the place, within {SECONDS} s of computing. A fault is a crash, a",
        "hang, a refusal without file or place, or an error that only the outermost net caught.",
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
    share = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    counts, faults, peak = run(share)
    print(table(counts, faults, peak))
    for one in faults[:60]:
        print(*one)
    if share >= 1:
        (HERE / "measured.md").write_text(table(counts, faults, peak))
    sys.exit(bool(faults) or peak > MOST_MEMORY)
