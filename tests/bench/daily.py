"""How long the work of a day lets one wait, beside what else one could have used, in one run.

    PYTHONPATH=tests python -m bench.daily

Each job is a process of its own, started three times; printed are the quickest wall time, the
processor's own time and the peak memory of that run. Rows are invented.
"""

import subprocess
import sys
import tempfile
from dataclasses import dataclass
from itertools import islice, product
from pathlib import Path

import pandas as pd

ROOT = Path(__file__).parents[2]
RUNS = 3

CHECK = """
import sys
from dataclasses import replace
from pmulab.tables import Expectations, read_and_check
arms = {"A": "Damp nonwoven", "B": "Dry nonwoven"}
records, report = read_and_check(sys.argv[1], Expectations(arms=arms, lid="upper"))
assert not report.blocks, report.to_text()[:500]
assert (len(records.sessions), len(records.healed)) in {(1000, 0), (0, 100_000)}
"""
OUTSIDE_CHECK = """
import sys
from pathlib import Path
import frictionless
from pmulab.tables import study_tables
from pmulab.tables.schema import schema_of
place = Path(sys.argv[1])
names = ["healed"] if place.suffix == ".csv" else ["clients", "sessions", "events"]
with frictionless.system.use_context(trusted=True):
    for name in names:
        control = {"csv": {}} if place.suffix == ".csv" else {"excel": {"sheet": name}}
        report = frictionless.Resource(
            path=str(place),
            schema=frictionless.Schema.from_descriptor(schema_of(study_tables()[name])),
            dialect=frictionless.Dialect.from_descriptor(control),
        ).validate()
        assert report.tasks[0].stats["rows"] >= 500
"""
READ_ONLY = """
import sys
import pandas as pd
place = sys.argv[1]
if place.endswith(".csv"):
    pd.read_csv(place)
else:
    pd.read_excel(place, sheet_name=None)
"""
FINISH = """
import sys
from pmulab import analyse, handout
analyse(sys.argv[1])
handout(sys.argv[1])
"""
BY_HAND = """
import sys
import matplotlib
matplotlib.use("agg")
import pandas as pd
import pingouin
import seaborn
rows = pd.read_excel(sys.argv[1] + "/records.xlsx", sheet_name="sessions")
rows.columns = rows.columns.str.rstrip(" *")
pairs = rows.pivot(index="client_code", columns="arm_actual", values="work_min")
print(pingouin.ttest(pairs.iloc[:, 0], pairs.iloc[:, 1], paired=True))
axes = seaborn.stripplot(rows, x="arm_actual", y="work_min")
axes.figure.savefig(sys.argv[1] + "/by-hand.png")
"""

STARTER = """
import resource, subprocess, sys, time
began = time.perf_counter()
code = subprocess.call(sys.argv[1:])
wall, used = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
print("", wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)
sys.exit(code)
"""
"""A process keeps the peak of the one that started it, so that one has to be small."""


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to do and the command that does it.

    Parameters
    ----------
    task, who : str
    words : tuple of str
    """

    task: str
    who: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cost:
    """What one process took.

    Parameters
    ----------
    wall, processor : float
        In seconds.
    peak : float
        Largest memory in MB.
    """

    wall: float
    processor: float
    peak: float


def sessions(clients: int) -> pd.DataFrame:
    """Give invented sessions of so many clients, two eyelids each, that pass every check."""
    pair = _examples()["sessions"].iloc[:2]
    rows = pd.concat([pair] * clients, ignore_index=True)
    rows["client_code"] = _codes(clients, each=2)
    swapped = rows.index // 2 % 2 == 1
    for name in ("arm_planned", "arm_actual"):
        rows.loc[swapped, name] = rows.loc[swapped, name].map({"A": "B", "B": "A"})
    return rows


def healed(eyelids: int) -> pd.DataFrame:
    """Give invented healed results, two eyelids at a time, of many visits, assessors and looks."""
    pair = _examples()["healed"].iloc[:2]
    keys = islice(product(range(1000), range(1, 4), range(1, 10), (1, 2)), eyelids // 2)
    each = pd.DataFrame(keys, columns=["client_code", "visit_no", "rater_code", "look_no"])
    rows = pd.concat([pair] * len(each), ignore_index=True)
    for name, form in {"client_code": "C{:03d}", "rater_code": "RA{}"}.items():
        each[name] = each[name].map(form.format)
    rows[each.columns] = each.loc[each.index.repeat(2)].to_numpy()
    return rows


def _examples() -> dict[str, pd.DataFrame]:
    from pmulab.tables import study_tables
    from pmulab.tables.example import example_frames

    return example_frames(study_tables())


def _codes(clients: int, each: int) -> list[str]:
    return [f"C{number:03d}" for number in range(clients) for _ in range(each)]


def write_workbook(path: Path, clients: int) -> None:
    """Write a workbook of so many clients, as a spreadsheet program would."""
    frames = _examples()
    frames["sessions"] = sessions(clients)
    frames["healed"] = frames["healed"].iloc[:0]
    for name in ("clients", "events"):
        frames[name] = pd.concat([frames[name].iloc[:1]] * clients, ignore_index=True)
        frames[name]["client_code"] = _codes(clients, each=1)
    with pd.ExcelWriter(path) as book:
        for name, frame in frames.items():
            frame.to_excel(book, sheet_name=name, index=False)


def jobs(place: Path) -> list[Job]:
    """Lay out the files and give what is to be done with them."""
    python, bin_ = sys.executable, Path(sys.executable).parent
    book, table, demo = place / "records.xlsx", place / "healed.csv", place / "demo"
    write_workbook(book, 500)
    healed(100_000).to_csv(table, index=False)
    subprocess.run([bin_ / "pmulab", "demo", demo], check=True, capture_output=True)

    def code(text: str, *words: object) -> tuple[str, ...]:
        return (python, "-c", text, *map(str, words))

    return [
        Job("import", "nothing", code("pass")),
        Job("import", "**pmulab**", code("import pmulab")),
        Job("import", "pandas", code("import pandas")),
        Job("--help", "**pmulab**", (str(bin_ / "pmulab"), "--help")),
        Job("--help", "pip", (python, "-m", "pip", "--help")),
        Job("check a workbook of 1,000 eyelids", "**pmulab**", code(CHECK, book)),
        Job("check a workbook of 1,000 eyelids", "frictionless, one table after another",
            code(OUTSIDE_CHECK, book)),
        Job("check a workbook of 1,000 eyelids", "pandas, reading only", code(READ_ONLY, book)),
        Job("check 100,000 CSV rows", "**pmulab**", code(CHECK, table)),
        Job("check 100,000 CSV rows", "frictionless", code(OUTSIDE_CHECK, table)),
        Job("check 100,000 CSV rows", "pandas, reading only", code(READ_ONLY, table)),
        Job("analyse and handout of the demo", "**pmulab**", code(FINISH, demo)),
        Job("analyse and handout of the demo", "a script by hand: one t test, one plot",
            code(BY_HAND, demo)),
        Job("all notebooks", "**nbval**, two workers", (
            python, "-m", "pytest", "--nbval", str(ROOT / "notebooks"), "--nbval-sanitize-with",
            str(ROOT / "tests/notebooks/sanitize.cfg"), "--nbval-current-env",
            "-n", "2", "--dist", "loadfile", "-q")),
    ]  # fmt: skip


def cost(job: Job) -> Cost:
    """Run a job from a small process and say what it took, its own helpers included."""
    words = [sys.executable, "-I", "-S", "-c", STARTER, *job.words]
    out = subprocess.run(words, capture_output=True, text=True, cwd=ROOT)
    if out.returncode:
        raise RuntimeError(out.stdout[-2000:] + out.stderr[-2000:])
    wall, processor, peak = map(float, out.stdout.split()[-3:])
    return Cost(wall, processor, peak)


def main() -> None:
    """Print the table."""
    print("| job | who | wall, s | processor, s | peak, MB |\n|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as place:
        for job in jobs(Path(place)):
            runs = 1 if "notebooks" in job.task else RUNS
            best = min((cost(job) for _ in range(runs)), key=lambda one: one.wall)
            print(
                f"| {job.task} | {job.who} | {best.wall:.2f} | {best.processor:.2f} "
                f"| {best.peak:.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
