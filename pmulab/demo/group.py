"""The invented study group: five studios that asked one question, and one that fell silent."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256

import pandas as pd

from pmulab import __version__
from pmulab.allocation import Assignment, seal
from pmulab.analysis import Circumstances, analyse
from pmulab.demo.cases import Invented, frames_of, rows_of
from pmulab.demo.scenario import answers_of, scenario, schedule_of
from pmulab.findings import Findings, Provenance
from pmulab.plan import Plan, read_plan
from pmulab.tables import Records, records_from_frames

AS_OF = date(2027, 3, 1)
"""The invented day on which the group looks at what came in."""
SILENT = "Quillet"
_FIRST = "Orvane"
_DUE = {
    "Orvane": date(2026, 8, 3),
    "Lantry": date(2026, 9, 14),
    "Mistell": date(2026, 10, 5),
    "Nivard": date(2026, 10, 26),
    "Opaline Row": date(2026, 12, 7),
    SILENT: date(2026, 7, 4),
}
_REGISTERED = date(2026, 1, 26)


@dataclass(frozen=True, slots=True, eq=False)
class Studio:
    """One invented studio with its finished study, or with its plan only.

    Parameters
    ----------
    name : str
    plan : Plan
    allocation : str
        Fingerprint of its cards.
    due : date
        When the group expects its pack.
    assignments : sequence of Assignment
    records : Records or None
    findings : Findings or None
        None for the studio that fell silent.
    """

    name: str
    plan: Plan
    allocation: str
    due: date
    assignments: tuple[Assignment, ...] = ()
    records: Records | None = None
    findings: Findings | None = None
    registered: date = _REGISTERED

    @property
    def label(self) -> str:
        """What it is called on its pack."""
        return f"Demo studio {self.name} (invented)"


def studios() -> Iterator[Studio]:
    """Give the studios of the invented group, the silent one last.

    Yields
    ------
    Studio
    """
    first = read_plan(scenario().plan)
    rows = rows_of("group.csv")
    yield _studio(_FIRST, first, [Invented.from_row(row) for row in rows_of("cases.csv")])
    for name in dict.fromkeys(row["studio"] for row in rows):
        cases = [Invented.from_row(row) for row in rows if row["studio"] == name]
        yield _studio(name, _plan_of(first, name, len(cases)), cases)
    plan = _plan_of(first, SILENT, 12)
    yield Studio(SILENT, plan, sha256(SILENT.encode()).hexdigest(), _DUE[SILENT])


def _plan_of(first: Plan, name: str, planned: int) -> Plan:
    code = "demo-" + name.lower().replace(" ", "-")
    return replace(
        first,
        study=replace(first.study, code=code),
        clients=replace(first.clients, planned=planned),
    )


def _studio(name: str, plan: Plan, cases: list[Invented]) -> Studio:
    schedule = schedule_of(cases)
    assignments = tuple(
        Assignment(case.client_code, slot, f"{case.date()}T09:00:00+00:00")
        for case, slot in zip(cases, schedule.slots, strict=False)
    )
    clients = [
        {"client_code": case.client_code, "eligible": "yes", "eligible_reason": "none"} | answers
        for case, answers in zip(cases, answers_of(cases), strict=True)
    ]
    frames = {"clients": pd.DataFrame(clients), **frames_of(cases)}
    records = records_from_frames(frames, plan.tables())
    allocation = sha256(seal(schedule).encode()).hexdigest()
    provenance = Provenance(
        software=f"pmulab {__version__}",
        libraries={},
        plan=plan.fingerprint,
        records=records.fingerprint,
        allocation=allocation,
        locked=_REGISTERED.isoformat(),
        analysed=_DUE[name].isoformat(),
    )
    findings = analyse(plan, assignments, records, Circumstances(provenance))
    return Studio(name, plan, allocation, _DUE[name], assignments, records, findings)
