"""From rows of records to one value per client and arm.

The unit is the client: two eyelids of one client are never two clients. Values count for the arm
that the opened card says, whatever was done (analysed as drawn).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

import pandas as pd

from pmulab.allocation import Assignment, Side
from pmulab.findings import ClientValues, Judging
from pmulab.plan import Outcome, Plan
from pmulab.tables import TABLE_NAMES, Records, days_healed
from pmulab.tables.once import once

SEEN = ("seen", "photo_only")
"""Answers of the healed table that come with a result."""

_EYELID = ["client_code", "side"]
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
    why : str
        Why she can have no values, whatever the outcome; '' when she can.
    """

    client_code: str
    values: ClientValues
    block: int
    block_size: int
    arm: str = ""
    why: str = ""

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
        In the order of enrolment; clients who took back their consent have no values.
    """
    values = side_values(plan, records, outcome)
    gone, agreed = withdrawn(records), agreed_to_share(records)
    return tuple(
        replace(
            _case(number, card, {} if card.client_code in gone else values, outcome, shared),
            why=_why(card, gone),
        )
        for number, card in enumerate(assignments, start=1)
        for shared in (card.client_code in agreed,)
    )


def _why(card: Assignment, gone: frozenset[str]) -> str:
    """Say why a client has no values that are hers alone to have."""
    if card.client_code in gone:
        return "took back her consent"
    return "never came" if card.absent else ""


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
        by majority, 'yes' when they are split; between clients, a client with one yes is a yes.
        Within one person, an assessor counts who judged
        both eyelids, if there is any.
    """
    found = used_rows(plan, records, outcome)
    if found.empty:
        return {}
    numbers = found[outcome.name].map(_number).astype(float)
    means = numbers.groupby([found["client_code"], found["side"]]).mean()
    if outcome.yes_no:
        means = (means >= 0.5).astype(float)
    return {cast("tuple[str, str]", key): float(value) for key, value in means.items()}


def used_rows(plan: Plan, records: Records, outcome: Outcome) -> pd.DataFrame:
    """Give the rows that an outcome is taken from.

    Parameters
    ----------
    plan : Plan
    records : Records
    outcome : Outcome

    Returns
    -------
    DataFrame
        Rows of the outcome's table with a value.
    """
    if outcome.table == "sessions":
        return _first_sessions(records).dropna(subset=[outcome.name])
    found = judged(records, plan.healed.earliest).dropna(subset=[outcome.name])
    found = _blinded_first(found)
    return _judged_both(found) if plan.within_person else found


def judging(plan: Plan, records: Records, outcome: Outcome) -> Judging:
    """Count the eyelids of an outcome, and those that somebody judged who knew.

    Parameters
    ----------
    plan : Plan
    records : Records
    outcome : Outcome

    Returns
    -------
    Judging
        Everything recorded on the day is written down by whoever worked, who knew.
    """
    rows = used_rows(plan, records, outcome)
    known = rows
    if outcome.table == "healed":
        known = rows[~rows["blinded"].fillna(False).astype(bool)]
    eyelids, knew = (len(one[_EYELID].drop_duplicates()) for one in (rows, known))
    return Judging(eyelids, knew)


def without_withdrawn(records: Records) -> Records:
    """Leave out everything recorded of clients who took back their consent."""
    gone = withdrawn(records)
    if not gone:
        return records

    def kept(rows: pd.DataFrame) -> pd.DataFrame:
        return rows[~rows["client_code"].isin(gone)]

    frames = {name: kept(records[name]) for name in TABLE_NAMES}
    places = zip(records.missing["table"], records.missing["row"], strict=True)
    return replace(
        records,
        clients=frames["clients"],
        sessions=frames["sessions"],
        healed=frames["healed"],
        events=frames["events"],
        missing=records.missing[[row in frames[table].index for table, row in places]],
    )


@once
def withdrawn(records: Records) -> frozenset[str]:
    """Name the clients who took back their consent."""
    clients = records.clients
    gone = clients.loc[clients["consent_withdrawn"].notna(), "client_code"]
    return frozenset(gone.astype(str))


@once
def judged(records: Records, earliest: int) -> pd.DataFrame:
    """Give the healed rows that count.

    Parameters
    ----------
    records : Records
    earliest : int
        First day of the plan on which an eyelid counts as healed.

    Returns
    -------
    DataFrame
        Rows seen not earlier than that day, before any touch-up, of the first visit
        that qualifies, first look of each assessor; with the column `days`.
    """
    rows = with_days(records)
    enough = (rows["days"] >= earliest).fillna(False)
    rows = rows[rows["seen"].isin(SEEN) & enough & (rows["look_no"] == 1)]
    rows = rows[~_after_touch_up(rows, records)]
    first = rows.groupby(_EYELID)["visit_no"].transform("min")
    return rows[rows["visit_no"] == first]


def _after_touch_up(rows: pd.DataFrame, records: Records) -> pd.Series:
    """Tell which healed rows come after the eyelid was worked on again."""
    again = records.sessions[(records.sessions["session_no"] > 1).fillna(False)]
    told = records.healed[(records.healed["seen"] == "touched_up_before").fillna(False)]
    if again.empty and told.empty:
        return pd.Series(False, index=rows.index)
    worked = again.groupby(_EYELID)["session_date"].min().rename("again")
    visits = told.groupby(_EYELID)["visit_no"].min().rename("told")
    joined = rows.join(worked, on=_EYELID).join(visits, on=_EYELID)
    later = (joined["healed_date"] >= joined["again"]).fillna(False)
    return later | (joined["visit_no"] > joined["told"]).fillna(False)


@once
def with_days(records: Records) -> pd.DataFrame:
    """Give the healed rows with `days`, counted from the eyelid's first session."""
    return records.healed.assign(days=days_healed(records))


def _first_sessions(records: Records) -> pd.DataFrame:
    return records.sessions[records.sessions["session_no"] == 1]


def _blinded_first(rows: pd.DataFrame) -> pd.DataFrame:
    blinded = rows["blinded"].fillna(False).astype(bool)
    any_blinded = blinded.groupby([rows["client_code"], rows["side"]]).transform("any")
    return rows[blinded | ~any_blinded]


def _judged_both(rows: pd.DataFrame) -> pd.DataFrame:
    """Keep, for each client, the assessors who judged both of her eyelids, if there are any.

    An assessor who saw one eyelid only would add to that side what is hers, not the arm's.
    """
    sides = rows.groupby(["client_code", "rater_code"])["side"].transform("nunique")
    both = sides == 2
    return rows[both | ~both.groupby(rows["client_code"]).transform("any")]


def agreed_to_share(records: Records) -> frozenset[str]:
    """Name the clients who agreed to share their numbers; silence is no yes."""
    clients = records.clients
    said_yes = clients["consent_share_numbers"].fillna(False).astype(bool)
    return frozenset(clients.loc[said_yes, "client_code"].astype(str))


def _number(value: object) -> float:
    if isinstance(value, (bool, str)):
        return _YES[value]
    return float(value)  # type: ignore[arg-type]


def _case(
    number: int,
    card: Assignment,
    values: dict[tuple[str, str], float],
    outcome: Outcome,
    shared: bool,
) -> Case:
    slot, code = card.slot, card.client_code
    if slot.arm is not None:
        sides = [values[code, side] for side in ("L", "R") if (code, side) in values]
        mean = sum(sides) / len(sides) if sides else None
        if outcome.yes_no and sides:  # a client, not an eyelid, is the unit: one yes is a yes
            mean = max(sides)
        client = ClientValues(
            number,
            mean if slot.arm == "A" else None,
            mean if slot.arm == "B" else None,
            shared=shared,
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
        shared=shared,
    )
    return Case(code, client, slot.block, slot.block_size)
