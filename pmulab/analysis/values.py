"""From rows of records to one value per client and arm.

The unit is the client: two eyelids of one client are never two clients. Values count for the arm
that the opened card says, whatever was done (analysed as drawn).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import pandas as pd

from pmulab.allocation import Assignment, Side
from pmulab.findings import ClientValues
from pmulab.plan import Outcome, Plan
from pmulab.tables import Records, days_healed

SEEN = ("seen", "photo_only")
"""Answers of the healed table that come with a result."""

_YES = {"yes": 1.0, "possible": 1.0, "no": 0.0, True: 1.0, False: 0.0}


@dataclass(frozen=True, slots=True)
class Case:
    """One client's card, running number and values of an outcome.

    Parameters
    ----------
    client_code : str
    values : ClientValues
    block, block_size : int
    arm : str
        Arm of both eyelids between clients; '' within one person.
    """

    client_code: str
    values: ClientValues
    block: int
    block_size: int
    arm: str = ""

    @property
    def complete(self) -> bool:
        """True when the client can be part of the comparison."""
        if self.arm:
            return (self.values.a if self.arm == "A" else self.values.b) is not None
        return self.values.a is not None and self.values.b is not None


def cases(
    plan: Plan, assignments: Sequence[Assignment], records: Records, outcome: Outcome
) -> tuple[Case, ...]:
    """Collect one outcome of every client whose card was opened.

    Parameters
    ----------
    plan : Plan
    assignments : sequence of Assignment
        In the order of enrolment.
    records : Records
    outcome : Outcome

    Returns
    -------
    tuple of Case
        In the order of enrolment; clients who took back their consent are left out.
    """
    values = side_values(plan, records, outcome)
    gone = withdrawn(records)
    return tuple(
        _case(number, card, values)
        for number, card in enumerate(assignments, start=1)
        if card.client_code not in gone
    )


def side_values(plan: Plan, records: Records, outcome: Outcome) -> dict[tuple[str, str], float]:
    """Give the value of every eyelid side that has one.

    Parameters
    ----------
    plan : Plan
    records : Records
    outcome : Outcome

    Returns
    -------
    dict of (client code, side) to float
        Sessions: the first session. Healed: the first visit within the plan's days, mean over
        the first looks of its assessors, blinded ones only where there are any. Yes/no: 1 or 0,
        by majority, 'yes' when they are split.
    """
    rows = _first_sessions(records) if outcome.table == "sessions" else judged(plan, records)
    found = rows.dropna(subset=[outcome.name])
    if outcome.table == "healed":
        found = _blinded_first(found)
    if found.empty:
        return {}
    numbers = found[outcome.name].map(_number).astype(float)
    means = numbers.groupby([found["client_code"], found["side"]]).mean()
    if outcome.yes_no:
        means = (means >= 0.5).astype(float)
    return {cast("tuple[str, str]", key): float(value) for key, value in means.items()}


def withdrawn(records: Records) -> frozenset[str]:
    """Name the clients who took back their consent."""
    clients = records.clients
    gone = clients.loc[clients["consent_withdrawn"].notna(), "client_code"]
    return frozenset(gone.astype(str))


def judged(plan: Plan, records: Records) -> pd.DataFrame:
    """Give the healed rows that count.

    Parameters
    ----------
    plan : Plan
    records : Records

    Returns
    -------
    DataFrame
        Rows seen not earlier than the plan's first day, before any touch-up, of the first visit
        that qualifies, first look of each assessor; with the column `days`.
    """
    rows = with_days(records)
    enough = (rows["days"] >= plan.healed.earliest).fillna(False)
    rows = rows[rows["seen"].isin(SEEN) & enough & (rows["look_no"] == 1)]
    first = rows.groupby(["client_code", "side"])["visit_no"].transform("min")
    return rows[rows["visit_no"] == first]


def with_days(records: Records) -> pd.DataFrame:
    """Give the healed rows with `days`, counted from the eyelid's first session."""
    return records.healed.assign(days=days_healed(records))


def _first_sessions(records: Records) -> pd.DataFrame:
    return records.sessions[records.sessions["session_no"] == 1]


def _blinded_first(rows: pd.DataFrame) -> pd.DataFrame:
    blinded = rows["blinded"].fillna(False).astype(bool)
    any_blinded = blinded.groupby([rows["client_code"], rows["side"]]).transform("any")
    return rows[blinded | ~any_blinded]


def _number(value: object) -> float:
    if isinstance(value, (bool, str)):
        return _YES[value]
    return float(value)  # type: ignore[arg-type]


def _case(number: int, card: Assignment, values: dict[tuple[str, str], float]) -> Case:
    slot, code = card.slot, card.client_code
    if slot.arm is not None:
        sides = [values[code, side] for side in ("L", "R") if (code, side) in values]
        mean = sum(sides) / len(sides) if sides else None
        client = ClientValues(
            number, mean if slot.arm == "A" else None, mean if slot.arm == "B" else None
        )
        return Case(code, client, slot.block, slot.block_size, slot.arm)
    a_side: Side = "L" if slot.left == "A" else "R"
    b_side: Side = "R" if a_side == "L" else "L"
    client = ClientValues(
        number,
        values.get((code, a_side)),
        values.get((code, b_side)),
        a_first=slot.a_first,
        a_left=slot.left == "A",
    )
    return Case(code, client, slot.block, slot.block_size)
