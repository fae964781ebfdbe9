"""Several processes work in one study folder at once; nothing is lost, nothing stands twice.

PYTHONPATH=tests python -m safety.at_once > tests/safety/measured_at_once.md
"""

import json
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from safety.killing import together
from safety.whole import doubled
from scored import answers as invented_answers
from scored import prepared
from studies import ANSWERS, clock, enrolled_study

from pmulab.errors import UserError
from pmulab.stations.enrol import enrol
from pmulab.stations.rounds import rounds
from pmulab.stations.score_collect import collect_scores
from pmulab.stations.score_here import take_scores
from pmulab.study import Study


def enrolling(folder, workers, each):
    """Each process enrols clients of its own and one that all of them try for; count faults."""
    enrolled_study(folder, 1, planned=workers * each + 2)

    def job(worker):
        def run():
            study = Study(folder, clock())
            for number in range(each):
                _patiently(
                    lambda code=f"C{200 + worker * each + number}": enrol(study, code, ANSWERS)
                )
            try:
                _patiently(lambda: enrol(study, "C999", ANSWERS))
            except UserError as error:
                if "was enrolled" not in error.what:
                    raise

        return run

    told = [one for one in together(*map(job, range(workers))) if one[0] != "done"]
    cards = Study(folder).assignments()
    lost = workers * each + 2 - len({one.client_code for one in cards})
    given = Counter(one.slot.number for one in cards)
    return [*told, *doubled(folder), *Study(folder).tampering(),
            *([f"{lost} clients are lost"] if lost else []),
            *(f"card {card} was given twice" for card, n in given.items() if n > 1)]  # fmt: skip


def journalling(folder, workers, each):
    """Each process writes lines of its own; count faults."""
    study = enrolled_study(folder, 1)

    def job(worker):
        def run():
            def note(number):
                with study.writing():
                    study.record("noted", worker=worker, note=number)

            for number in range(each):
                _patiently(lambda number=number: note(number))

        return run

    told = [one for one in together(*map(job, range(workers))) if one[0] != "done"]
    found = Counter(
        (one.detail["worker"], one.detail["note"])
        for one in study.journal()
        if one.event == "noted"
    )
    wanted = {(worker, note): 1 for worker in range(workers) for note in range(each)}
    return [*told, *study.tampering(), *(["lines are lost or doubled"] if found != wanted else [])]


def collecting(folder, workers, each):
    """Each process takes in answers of its own assessors, then all collect; count faults."""
    study, one, _ = prepared(folder, clients=2)
    sheets = {
        f"{'ABCD'[worker]}{number}": json.dumps(
            invented_answers(study, one, f"{'ABCD'[worker]}{number}")
        ).encode()
        for worker in range(workers)
        for number in range(1, each + 1)
    }

    def job(worker):
        def run():
            mine = {code: data for code, data in sheets.items() if code[0] == "ABCD"[worker]}
            for code, data in mine.items():
                take_scores(study, f"from-{code}.json", data, 1)

        return run

    def collect():
        collect_scores(study)

    told = [one for one in together(*map(job, range(workers))) if one[0] != "done"]
    ended = together(*[collect] * workers)
    kept = {path.stem: path.read_bytes() for path in study.path(one.folder).glob("answers/*.json")}
    refused = [words for kind, words in ended if kind == "refused" and "was collected" in words]
    done = sum(kind == "done" for kind, _ in ended)
    assessors = rounds(study)[0].opened.detail["assessors"]
    return [*told, *doubled(folder), *study.tampering(),
            *([] if kept == sheets and sorted(assessors) == sorted(sheets) else ["answers lost"]),
            *([] if done == 1 and done + len(refused) == workers else [f"collected: {ended}"]),
            ]  # fmt: skip


def _patiently(call):
    """Go on where another window took longer than the wait allows; it says that it is safe."""
    for _ in range(20):
        try:
            return call()
        except UserError as error:
            if not any(one in error.what for one in ("Another window", "takes part by")):
                raise
            time.sleep(0.05)
    raise RuntimeError("never got through")


def main():
    """Print a table of at least 2,000 operations."""
    rows, begun = [], time.monotonic()
    parts = ((enrolling, 2, 60), (enrolling, 4, 30), (journalling, 2, 450), (journalling, 4, 200),
             (collecting, 2, 30), (collecting, 4, 20))  # fmt: skip
    wanted = sys.argv[1:] or [part[0].__name__ for part in parts]
    for what, workers, each in (part for part in parts if part[0].__name__ in wanted):
        with tempfile.TemporaryDirectory() as place:
            found = what(Path(place) / "study", workers, each)
        rows.append((what.__name__, workers, workers * (each + (what is not journalling)), found))
        print(*rows[-1], f"{time.monotonic() - begun:.0f} s", file=sys.stderr, flush=True)
    print("# Several processes in one study folder at once\n")
    print("| what | processes | operations | lost, doubled or broken |\n|---|---:|---:|---:|")
    for name, workers, operations, found in rows:
        print(f"| {name} | {workers} | {operations} | {len(found)} |")
    print(f"| all | | {sum(one[2] for one in rows)} | {sum(len(one[3]) for one in rows)} |")
    print(f"\n{time.monotonic() - begun:.0f} s.")


if __name__ == "__main__":
    main()
