"""Whether the cards were followed: arms, sides, working order, balance."""

from collections.abc import Iterator

import pandas as pd

from pmulab.tables.expectations import Expectations
from pmulab.tables.once import once
from pmulab.tables.records import Records, row_problem
from pmulab.tables.report import BLOCKS, LOOK, Problem

# Batches of at most eight cards let two counts differ by four at most, at any moment.
MOST_IMBALANCE = 4

_ARM_TOLD = ("wrong_arm", "wrong_arm_and_order", "other")
_ORDER_TOLD = ("wrong_order", "wrong_arm_and_order", "other")


@once
def _study_sessions(records: Records) -> pd.DataFrame:
    """Rows of the first session of each client; later ones are touch-ups."""
    sessions = records.sessions
    return sessions[sessions["session_no"].eq(1).fillna(False)]


@once
def _with_cards(records: Records, expectations: Expectations) -> pd.DataFrame:
    """Study sessions with what the card says: `card_arm`, `card_first`; NA if not known."""
    rows = _study_sessions(records).copy()
    cards = expectations.allocation or {}
    given = [cards.get(client) for client in rows["client_code"].fillna("")]
    sides = rows["side"].fillna("")
    arms = [card.arm_on(side) if card else None for card, side in zip(given, sides, strict=True)]
    rows["card_arm"] = pd.Series(arms, index=rows.index, dtype="string").where(sides.ne(""))
    rows["card_first"] = pd.Series(
        [card.first_side if card else None for card in given], index=rows.index, dtype="string"
    )
    rows["card_arm"] = rows["card_arm"].fillna(rows["arm_planned"])
    return rows


def _label(arm: str, expectations: Expectations) -> str:
    """Name an arm as the list of the workbook offers it."""
    return f"'{dict(expectations.arms).get(arm, arm)}'"


def _differs(first: pd.Series, second: pd.Series) -> "pd.Series[bool]":
    return first.ne(second).fillna(False).astype(bool)


def not_enrolled(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to clients worked on without an opened card."""
    if expectations.allocation is None:
        return
    sessions = records.sessions.dropna(subset=["client_code"])
    known = sessions["client_code"].isin(list(expectations.allocation))
    for row, client in sessions.loc[~known, "client_code"].drop_duplicates().items():
        yield row_problem(
            records, "sessions", row, ("not_enrolled", BLOCKS), "client_code",
            (f"{client} has a session but no card was ever opened for her.",
             "Look at the code. If she is not in the study, take her rows out; a card cannot be"
             " drawn afterwards."),
        )  # fmt: skip


def worked_before_card(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to clients whose first session is dated before their card was opened."""
    cards = expectations.allocation or {}
    known = {code: card.opened for code, card in cards.items() if card.opened is not None}
    rows = _study_sessions(records).dropna(subset=["client_code", "session_date"])
    rows = rows[rows["client_code"].isin(list(known))]
    opened = pd.to_datetime(rows["client_code"].map(known))
    early = rows[pd.to_datetime(rows["session_date"]) < opened]
    for row, client in early["client_code"].drop_duplicates().items():
        yield row_problem(
            records, "sessions", row, ("worked_before_card", LOOK), "session_date",
            (f"{client} was worked on before her card was opened ({known[client]}): then the lot"
             " decided nothing.",
             "Look at the date. If it is right, it stays, and every output tells it. Open the card"
             " first, then work."),
        )  # fmt: skip


@once
def mirrored_clients(records: Records, expectations: Expectations) -> dict[str, int]:
    """Clients whose two eyelids are both exactly swapped against the card.

    Parameters
    ----------
    records : Records
    expectations : Expectations

    Returns
    -------
    dict of client code to row
        The first of the two rows in `records.sessions`; nobody in parallel groups, where both
        eyelids have one arm.
    """
    if expectations.design != "within-person":
        return {}
    rows = _with_cards(records, expectations)
    told = rows["deviation"].isin(_ARM_TOLD)
    done = rows["arm_actual"].fillna(rows["arm_planned"])
    rows = rows[_differs(done, rows["card_arm"]) & ~told].dropna(subset=["client_code"])
    counted = rows.groupby("client_code")["side"].nunique()
    both = counted.index[counted.eq(2)]
    firsts = rows[rows["client_code"].isin(both)].drop_duplicates("client_code")
    return dict(zip(firsts["client_code"], firsts.index, strict=True))


def mirrored_sides(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to clients whose two eyelids each hold the arm of the other."""
    for client, row in mirrored_clients(records, expectations).items():
        yield row_problem(
            records, "sessions", row, ("mirrored_sides", BLOCKS), "side",
            (f"Both eyelids of {client} are swapped against her card.",
             "Left and right are the client's own; a photo or a mirror shows them reversed. Put"
             " the sides right, or, if you really worked that way, write the deviation wrong_arm"
             " for both."),
        )  # fmt: skip


def planned_arm_differs(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to rows whose planned arm is not the arm of the card."""
    rows = _with_cards(records, expectations)
    mirrored = mirrored_clients(records, expectations)
    wrong = _differs(rows["arm_planned"], rows["card_arm"]) & ~rows["client_code"].isin(mirrored)
    for row in rows.index[wrong]:
        client, side = rows.loc[row, "client_code"], rows.loc[row, "side"]
        label = _label(rows.loc[row, "card_arm"], expectations)
        yield row_problem(
            records, "sessions", row, ("planned_arm_differs", BLOCKS), "arm_planned",
            (f"The card of {client} gives side {side} the other arm than noted as planned.",
             f"Copy the card: choose {label} as arm_planned."),
        )  # fmt: skip


def allocation_not_followed(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to rows where another arm was done than planned and no deviation says so."""
    rows = _with_cards(records, expectations)
    mirrored = mirrored_clients(records, expectations)
    told = rows["deviation"].isin(_ARM_TOLD) | rows["client_code"].isin(mirrored)
    differs = _differs(rows["arm_actual"], rows["card_arm"])
    for row in rows.index[differs & ~told]:
        yield row_problem(
            records, "sessions", row, ("allocation_not_followed", BLOCKS), "arm_actual",
            (f"Side {rows.loc[row, 'side']} of {rows.loc[row, 'client_code']} got the other arm"
             " than the card says, and no deviation says so.",
             "Correct arm_actual, or write the deviation wrong_arm. A told slip is no shame."),
        )  # fmt: skip
    idle = rows["deviation"].isin(_ARM_TOLD[:2]) & rows["arm_actual"].eq(rows["card_arm"])
    for row in rows.index[idle.fillna(False).astype(bool)]:
        yield row_problem(
            records, "sessions", row, ("deviation_without_difference", LOOK), "deviation",
            ("The deviation says wrong arm, but the arm done is the one on the card.",
             "Correct arm_actual, or write the deviation none."),
        )  # fmt: skip


def order_not_followed(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to eyelids worked first against the card where no deviation says so.

    Of a mirrored client nothing is said: once her sides are put right, so is the order.
    """
    rows = _with_cards(records, expectations)
    first = rows["order"].eq(1).fillna(False)
    mirrored = rows["client_code"].isin(mirrored_clients(records, expectations))
    told = rows["deviation"].isin(_ORDER_TOLD) | mirrored
    for row in rows.index[first & ~told & _differs(rows["side"], rows["card_first"])]:
        yield row_problem(
            records, "sessions", row, ("order_not_followed", BLOCKS), "order",
            (f"{rows.loc[row, 'client_code']} was worked on side {rows.loc[row, 'side']} first; her"
             f" card says {rows.loc[row, 'card_first']} first, and no deviation says so.",
             "Correct the order, or write the deviation wrong_order."),
        )  # fmt: skip


def two_arms_on_one_eyelid(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to an eyelid (or, in parallel groups, a client) that got both arms."""
    unit = ["client_code", "side"] if expectations.design == "within-person" else ["client_code"]
    rows = records.sessions[[*unit, "arm_actual"]].dropna()
    firsts = rows.drop_duplicates(unit)
    first_row = dict(
        zip(firsts[unit].itertuples(index=False, name=None), firsts.index, strict=True)
    )
    others = rows[rows["arm_actual"].ne(rows.groupby(unit)["arm_actual"].transform("first"))]
    for row in others.drop_duplicates(unit).index:
        whom = tuple(rows.loc[row, name] for name in unit)
        before = records.place("sessions", first_row[whom])[2]
        yield row_problem(
            records, "sessions", row, ("two_arms_on_one_eyelid", BLOCKS), "arm_actual",
            (f"{' side '.join(whom)} got both arms, in row {before} and here; they can no longer"
             " be told apart.",
             "Correct the arm, or write NA_not_applicable for a touch-up outside the study."),
        )  # fmt: skip


def one_eyelid_only(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to clients with a row for one eyelid only."""
    if expectations.design != "within-person":
        return
    clients = _study_sessions(records).dropna(subset=["client_code", "side"])["client_code"]
    for row, client in clients[~clients.duplicated(keep=False)].items():
        yield row_problem(
            records, "sessions", row, ("one_eyelid_only", LOOK), "side",
            (f"{client} has a row for one eyelid only; she cannot be compared with herself.",
             "Add the row of the other eyelid; if it was not worked, write NA_not_done and"
             " the deviation stopped_early."),
        )  # fmt: skip


def eyelids_alike(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to clients whose two eyelids have the same working order, or the same arm."""
    rows = _study_sessions(records)[["client_code", "order", "arm_actual", "deviation"]]
    for row in rows.index[_repeated(rows, "order")]:
        yield row_problem(
            records, "sessions", row, ("same_order_twice", BLOCKS), "order",
            (f"Both eyelids of {rows.loc[row, 'client_code']} have the same working order.",
             "Write 1 for the eyelid worked first and 2 for the other."),
        )  # fmt: skip
    if expectations.design != "within-person":
        return
    told = set(rows.loc[rows["deviation"].isin(_ARM_TOLD), "client_code"].dropna())
    settled = [*told, *(expectations.allocation or {})]
    same = _repeated(rows, "arm_actual") & ~rows["client_code"].isin(settled)
    for row in rows.index[same]:
        yield row_problem(
            records, "sessions", row, ("same_arm_twice", BLOCKS), "arm_actual",
            (f"Both eyelids of {rows.loc[row, 'client_code']} have the same arm.",
             "Correct it, or write the deviation wrong_arm if it happened so."),
        )  # fmt: skip


def _repeated(rows: pd.DataFrame, column: str) -> "pd.Series[bool]":
    there = rows["client_code"].notna() & rows[column].notna()
    return rows.duplicated(["client_code", column]) & there


def not_balanced(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to an arm worked first, or on the left, far more often than the other."""
    if expectations.design != "within-person":
        return
    rows = _study_sessions(records).dropna(subset=["arm_actual"])
    first = rows[rows["order"].eq(1).fillna(False)]
    left = rows[rows["side"].eq("L").fillna(False)]
    for code, some, words in (
        ("order_not_balanced", first, "worked first"),
        ("sides_not_balanced", left, "on the left"),
    ):
        counts = sorted((int(some["arm_actual"].eq(arm).sum()) for arm in "AB"), reverse=True)
        if counts[0] - counts[1] > MOST_IMBALANCE:
            file, sheet, _ = records.place("sessions", some.index[0])
            yield Problem(
                code, LOOK, file, sheet, None, "order" if some is first else "side", "",
                f"One arm was {words} {counts[0]} times, the other {counts[1]} times; the cards"
                " would balance them.",
                "Look whether cards were followed in the order they came. The analysis adjusts for"
                " order and side, but cannot make up for picking.",
            )  # fmt: skip


RULES = (
    not_enrolled,
    worked_before_card,
    mirrored_sides,
    planned_arm_differs,
    allocation_not_followed,
    order_not_followed,
    two_arms_on_one_eyelid,
    one_eyelid_only,
    eyelids_alike,
    not_balanced,
)
