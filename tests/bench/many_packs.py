"""Time and memory of reading, checking and pooling very many packs.

    PYTHONPATH=tests python -m bench.many_packs 10000

Packs are the invented first studio's, each with a plan, cards and minutes of its own; one in a
thousand is broken. Time is wall time; on a machine that others use, the processors' own time is
the figure to compare.
"""

import json
import resource
import sys
import time
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

sys.path.append(str(Path(__file__).parents[1] / "builders"))
_OWN, _HELPERS = resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN


def write_packs(folder: Path, count: int) -> None:
    """Write so many packs of twelve clients, every thousandth one cut short."""
    import packs_builder as build

    from pmulab.packs.model import DESCRIPTOR, FINDINGS, PLAN, study_fingerprint
    from pmulab.plan import fingerprint_of

    parts = build.parts_of(build.packed())
    plan, findings = json.loads(parts[PLAN]), json.loads(parts[FINDINGS])
    descriptor = json.loads(parts[DESCRIPTOR])
    rng = np.random.default_rng(10)
    for number in range(count):
        plan["study"]["code"] = f"studio-{number}"
        cards = sha256(str(number).encode()).hexdigest()
        shift = float(rng.normal(0, 2))
        parts["differences.csv"] = _minutes(parts["differences.csv"], findings, rng, shift)
        fingerprint = fingerprint_of(plan)
        findings["provenance"] |= {"plan": fingerprint, "allocation": cards}
        descriptor["pmulab"] |= {
            "label": f"Studio {number}", "plan": fingerprint, "allocation": cards,
            "study": study_fingerprint(fingerprint, cards),
        }  # fmt: skip
        made = build.resealed(
            parts
            | {
                PLAN: json.dumps(plan).encode(),
                FINDINGS: json.dumps(findings).encode(),
                DESCRIPTOR: json.dumps(descriptor).encode(),
            }
        )
        (folder / f"{number:05}.zip").write_bytes(made[:-99] if number % 1000 == 999 else made)


def _minutes(table, findings, rng, shift):
    """Put fresh minutes into the table and their averages and spreads into the findings."""
    lines = table.decode().split("\r\n")
    places = [n for n, line in enumerate(lines) if ",work_min," in line]
    b = rng.integers(28, 50, len(places)) / 2
    a = np.clip(b + np.round(2 * (shift - 1 + rng.normal(0, 2, b.size))) / 2, 2, 90)
    for place, one, other in zip(places, a, b, strict=True):
        cells = lines[place].split(",")
        cells[2:5] = [f"{one:g}", f"{other:g}", f"{one - other:g}"]
        lines[place] = ",".join(cells)
    primary = findings["primary"]
    for key, values in (("a", a), ("b", b)):
        primary[key] |= {"mean": float(values.mean()), "sd": float(values.std(ddof=1))}
    primary["sd_of_differences"] = float((a - b).std(ddof=1))
    return "\r\n".join(lines).encode()


def measure(count: int) -> dict[str, float]:
    """Write, read, check and pool packs; give seconds and megabytes."""
    from pmulab.stations.pool import pool

    with TemporaryDirectory() as place:
        folder = Path(place)
        write_packs(folder, count)
        own, helpers, start = _seconds(_OWN), _seconds(_HELPERS), time.perf_counter()
        found = pool(folder, to=folder, as_of="2027-03-01").value
        return {
            "packs": count,
            "pooled": len(found.studies),
            "set_aside": len(found.set_aside),
            "seconds": time.perf_counter() - start,
            "own_processor_seconds": _seconds(_OWN) - own,
            "helpers_processor_seconds": _seconds(_HELPERS) - helpers,
            "megabytes": _megabytes(),
        }


def _seconds(who: int) -> float:
    used = resource.getrusage(who)
    return used.ru_utime + used.ru_stime


def _megabytes() -> float:
    """Give the peak of this process and of its largest helper, twice, as there are two."""
    own, helper = (resource.getrusage(who).ru_maxrss for who in (_OWN, _HELPERS))
    return (own + 2 * helper) / 1024


if __name__ == "__main__":
    print(json.dumps(measure(int(sys.argv[1])), indent=1))
