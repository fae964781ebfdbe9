"""Enrol one client: eligibility and consent are saved first, then her card alone is opened."""

import csv
import io
from collections.abc import Mapping

from pmulab.allocation import Assignment, card_words
from pmulab.eligibility import Obstacle, obstacles
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.study import ENROLLED, Study, read_text
from pmulab.tables.answers import read_answers
from pmulab.tables.fields import Table

WORKED_OUT = ("eligible", "eligible_reason")
"""Fields of the clients table that are worked out from the answers and never asked for."""


def enrol(study: Opened, client_code: str, answers: Mapping[str, str]) -> Answer[Assignment | None]:
    """Save a client's answers and, if she can take part, open her card.

    Parameters
    ----------
    study : Study or path-like
    client_code : str
        `C` and three digits; never initials.
    answers : mapping of str to str
        Fields of the clients table by name; every needed one. `eligible` is worked out.

    Returns
    -------
    Answer
        Its value is the opened card, or None for a client who does not take part.

    Raises
    ------
    UserError
        If answers are missing or impossible, the plan is not locked, or the client was enrolled
        before.
    """
    folder = opened(study)
    plan = _plan(folder)
    table = plan.tables()["clients"]
    row = _checked(table, client_code.strip().upper(), answers)
    reasons = obstacles(row, plan)
    row |= {
        "eligible": "no" if reasons else "yes",
        "eligible_reason": reasons[0].code if reasons else "none",
    }
    with folder.writing():
        _refuse_known(folder, row["client_code"])
        if reasons:
            _save(folder, table, row)
            folder.record(
                "client not enrolled",
                client_code=row["client_code"],
                reasons=[one.code for one in reasons],
            )
            return _declined(folder, row["client_code"], reasons)
        return _reveal(folder, plan, table, row)


def _plan(study: Study) -> Plan:
    locked = study.locked()
    if locked is None:
        raise UserError(
            "The plan is not locked yet, so nobody can be enrolled.",
            f"Lock it first: pmulab lock {study.folder}",
        )
    return locked.plan


def _checked(table: Table, code: str, answers: Mapping[str, str]) -> dict[str, str]:
    given = {name: value for name, value in answers.items() if name not in WORKED_OUT}
    row, problems = read_answers(table, {**given, "client_code": code}, skip=WORKED_OUT)
    if problems:
        told = "\n".join(f"{one.column}: {one.what} {one.remedy}" for one in problems)
        raise UserError(told, "Nothing was saved. Complete these answers, then enrol again.")
    return row


def _refuse_known(study: Study, code: str) -> None:
    for entry in study.journal():
        if entry.detail.get("client_code") != code:
            continue
        if entry.event == "client enrolled":
            raise UserError(
                f"{code} was enrolled on {entry.time}; her card is open and stays as it is.",
                "A client takes part once. Use a new code for another client.",
            )
        if entry.event == "client not enrolled":
            raise UserError(
                f"{code} was asked on {entry.time} and could not take part.",
                "If that has changed, ask again under a new code; the first asking stays counted.",
            )


def _declined(study: Study, code: str, reasons: tuple[Obstacle, ...]) -> Answer[Assignment | None]:
    lines = (
        *alarms(study),
        f"{code} does not take part; no card was opened.",
        *(one.words for one in reasons),
        "Local codes, your licence and the client's physician come first.",
    )
    data = {"enrolled": False, "reasons": [one.code for one in reasons]}
    return Answer(lines, None, (study.path(ENROLLED),), data, found_problems=True)


def _reveal(
    study: Study, plan: Plan, table: Table, row: Mapping[str, str]
) -> Answer[Assignment | None]:
    opened_so_far = study.assignments()
    slots = study.schedule().slots
    if len(opened_so_far) >= len(slots):
        raise UserError(
            "All cards are used.", "The planned number and its spare cards are enrolled; analyse."
        )
    slot = slots[len(opened_so_far)]
    _save(study, table, row)
    entry = study.record("client enrolled", client_code=row["client_code"], slot=slot.number)
    card = card_words(slot, plan.arms.A.label, plan.arms.B.label)
    lines = (
        *alarms(study),
        f"{row['client_code']} is enrolled ({len(opened_so_far) + 1} of {plan.clients.planned}).",
        f"Her card: {card}",
        "It cannot be drawn again. Mind the mirror: left means the client's own left.",
    )
    assignment = Assignment(row["client_code"], slot, entry.time)
    return Answer(lines, assignment, (study.path(ENROLLED),), {"enrolled": True, "card": card})


def _save(study: Study, table: Table, row: Mapping[str, str]) -> None:
    """Append the client's row to clients.csv, once."""
    path = study.path(ENROLLED)
    before = read_text(path) if path.exists() else ""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, fieldnames=table.names, lineterminator="\n")
    if not before:
        writer.writeheader()
    elif row["client_code"] in {
        known["client_code"] for known in csv.DictReader(io.StringIO(before))
    }:
        return  # an earlier run stopped between saving and opening the card
    writer.writerow(dict(row))
    study.extend_enrolled(before + out.getvalue())


def _saved_earlier(row: Mapping[str, str], text: str) -> bool:
    """Tell whether an earlier run stopped between saving these answers and opening the card."""
    for known in csv.DictReader(io.StringIO(text)):
        if known["client_code"] != row["client_code"]:
            continue
        if any(known[name] != value for name, value in row.items()):
            raise UserError(
                f"{row['client_code']} already stands in {ENROLLED} with other answers.",
                "Look at that row: give the same answers, or use a new code.",
            )
        return True
    return False
