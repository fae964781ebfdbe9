"""Enrol one client: eligibility and consent are saved first, then her card alone is opened."""

from collections.abc import Iterator, Mapping

from pmulab.allocation import Assignment, card_words
from pmulab.disk import typed
from pmulab.eligibility import Obstacle, obstacles
from pmulab.enrolment import ANSWERS, Asked, differing, row_fingerprint
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.memory import remember
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.pause import (
    Pause,
    nothing_recorded,
    pause_of,
    refuse_paused,
    refuse_stopped,
    refuse_unread,
)
from pmulab.stations.put_back import refuse_lost
from pmulab.stations.reasons import refuse_telling
from pmulab.stations.replacing import REPLACEMENT, refuse_beyond
from pmulab.stations.reviews import REVIEWED, reminders, reviewed_events
from pmulab.study import ENROLLED, JOURNAL, Study
from pmulab.tables import Records
from pmulab.tables.answers import read_answers
from pmulab.tables.fields import Table
from pmulab.tables.report import Problem
from pmulab.wording.cards import card_lines
from pmulab.wording.cautions import CAPILLARIES, CONTACTS, EYELIDS_DIFFER, EYELIDS_UNKNOWN

_NO_CAPILLARIES = ("none", None, "")
_NOT_AGREED = ("no", "n", "na_refused")
WORKED_OUT = ("eligible", "eligible_reason")
"""Fields of the clients table that are worked out from the answers and never asked for."""


def enrol(
    study: Opened,
    client_code: str,
    answers: Mapping[str, str],
    reviewed: str = "",
    replacement: str = "",
) -> Answer[Assignment | None]:
    """Save a client's answers and, if she can take part, open her card.

    Parameters
    ----------
    study : Study or path-like
    client_code : str
        `C` and three digits; never initials.
    answers : mapping of str to str
        Fields of the clients table by name; every needed one. `eligible` is worked out. Of a
        client who does not agree to be recorded nothing but that is kept.
    reviewed : str, default=''
        After an adverse event that asks for a pause: who reviewed it and what was decided.
    replacement : str, default=''
        Beyond the planned number: which client who never came this one replaces, and why; kept
        in the journal and on every output.

    Returns
    -------
    Answer
        Its value is the opened card, or None for a client who does not take part.

    Raises
    ------
    UserError
        If answers are missing or impossible, the plan is not locked, the client was enrolled
        before, the study was stopped, an adverse event waits for a review, the planned number
        is reached with nobody to replace, or a reason tells who a person is.
    """
    folder = opened(study)
    plan = _plan(folder)
    refuse_stopped(folder)
    reviewed = reviewed.strip()
    refuse_telling(reviewed, "What you say of the review")
    records = _records(folder)
    pause = _pause(folder, records)
    refuse_paused(folder, pause, reviewed)
    table = plan.tables()["clients"]
    row = _checked(table, client_code.strip().upper(), answers)
    _refuse_days_to_come(table, row, folder.now().date().isoformat())
    reasons = obstacles(row, plan)
    row |= {
        "eligible": "no" if reasons else "yes",
        "eligible_reason": reasons[0].code if reasons else "none",
    }
    with folder.writing():
        _refuse_known(folder, row["client_code"])
        _refuse_waiting(folder, row["client_code"])
        _keep_review(folder, pause, reviewed, records)
        if reasons:
            _save(folder, table, row)
            folder.record(
                "client not enrolled",
                client_code=row["client_code"],
                reasons=[one.code for one in reasons],
                **{ANSWERS: row_fingerprint(row, row)},
            )
            return _declined(folder, row["client_code"], reasons)
        _keep_replacement(folder, plan, row["client_code"], replacement.strip())
        mind = tuple(reminders(folder.journal(), records))
        return _reveal(folder, plan, table, row, mind)


def _plan(study: Study) -> Plan:
    locked = study.locked()
    if locked is None:
        raise UserError(
            "The plan is not locked yet, so nobody can be enrolled.",
            f"Lock it first: pmulab lock {typed(study.folder)}",
        )
    return locked.plan


def _checked(table: Table, code: str, answers: Mapping[str, str]) -> dict[str, str]:
    given = {name: value for name, value in answers.items() if name not in WORKED_OUT}
    if given.get("consent_record", "").strip().casefold() in _NOT_AGREED:
        given = _refusal(table)
    row, problems = read_answers(table, {**given, "client_code": code}, skip=WORKED_OUT)
    if problems:
        told = "\n".join(_named(table, one) for one in problems)
        raise UserError(told, "Nothing was saved. Complete these answers, then enrol again.")
    if row["consent_record"] not in ("yes", "no"):
        raise UserError(
            f"{table['consent_record'].asked}: whether she agrees to be recorded is not known.",
            "Nothing was saved. Ask her, then write yes or no.",
        )
    return row


def _named(table: Table, one: Problem) -> str:
    """Say a problem with the title of its question, once."""
    said = f"{one.what} {one.remedy}"
    if one.column not in table.names or table[one.column].asked in one.what:
        return said
    return f"{table[one.column].asked}: {said}"


def _refuse_days_to_come(table: Table, row: Mapping[str, str], today: str) -> None:
    """Refuse a day that has not come yet, before a card is opened on it."""
    dates = {field.name for field in table.fields if field.kind == "date"}
    ahead = [name for name in row if name in dates and today < row[name] < "9"]
    if ahead:
        raise UserError(
            f"{table[ahead[0]].asked}: {row[ahead[0]]} has not come yet; today is {today}.",
            "Nothing was saved. Write the day on which it happened, then enrol again.",
        )


def _refusal(table: Table) -> dict[str, str]:
    """Keep nothing of a client who does not agree to be recorded but that she was asked."""
    consents = ("consent_record", "consent_share_numbers", "consent_share_photos")
    asked = [field.name for field in table.fields if field.needed != "no"]
    left_out = {name: "NA_refused" for name in asked if name not in (*WORKED_OUT, "client_code")}
    return left_out | dict.fromkeys(consents, "no")


def _refuse_known(study: Study, code: str) -> None:
    for entry in study.journal():
        if entry.detail.get("client_code") != code:
            continue
        if entry.event == "client enrolled":
            plan = _plan(study)
            slot = next(one.slot for one in study.assignments() if one.client_code == code)
            card = card_words(slot, plan.arms.A.label, plan.arms.B.label)
            raise UserError(
                f"{code} was enrolled on {entry.time[:10]}; her card is open and stays as it is: "
                f"{card}",
                "A client takes part once. Use a new code for another client.",
            )
        if entry.event == "client not enrolled":
            raise UserError(
                f"{code} was asked on {entry.time} and could not take part.",
                "Once that has changed and whoever may decide it has cleared her, ask again under "
                "a new code; the first asking stays counted.",
            )


def _records(study: Study) -> Records:
    """Read the records and write down what harm they show, before anything is refused."""
    records, report = records_of(study)
    if not nothing_recorded(study):
        refuse_unread(study, records, report)
        with study.writing():
            remember(study, records)
    return records


def _pause(study: Study, records: Records) -> Pause:
    refuse_lost(study, records)
    return pause_of(study, records)


def _keep_review(study: Study, pause: Pause, reviewed: str, records: Records) -> None:
    if reviewed:
        study.record_once(
            REVIEWED, since="client enrolled",
            reviewed=reviewed, stop=pause.stop, clients=pause.clients,
            events=reviewed_events(records),
        )  # fmt: skip


def _keep_replacement(study: Study, plan: Plan, code: str, reason: str) -> None:
    refuse_beyond(study, plan.clients.planned, reason)
    if len(study.assignments()) >= plan.clients.planned:
        study.record_once(REPLACEMENT, since="client enrolled", client_code=code, reason=reason)


def _declined(study: Study, code: str, reasons: tuple[Obstacle, ...]) -> Answer[Assignment | None]:
    lines = (
        *alarms(study),
        f"{code} does not take part; no card was opened.",
        *(one.words for one in reasons),
        "Local codes, your licence and the client's physician come first.",
    )
    data = {
        "enrolled": False,
        "reasons": [one.code for one in reasons],
        "because": [one.words for one in reasons],
    }
    return Answer(lines, None, (study.path(ENROLLED),), data, found_problems=True)


def _reveal(
    study: Study, plan: Plan, table: Table, row: Mapping[str, str], mind: tuple[str, ...]
) -> Answer[Assignment | None]:
    opened_so_far = study.assignments()
    last = max((one.slot.number for one in opened_so_far), default=0)
    slots = study.schedule().slots
    if last >= len(slots):
        raise UserError(
            "All cards are used.", "The planned number and its spare cards are enrolled; analyse."
        )
    slot = slots[last]
    _save(study, table, row)
    entry = study.record(
        "client enrolled",
        client_code=row["client_code"],
        slot=slot.number,
        **{ANSWERS: row_fingerprint(row, row)},
    )
    lines = (
        *alarms(study),
        *mind,
        f"{row['client_code']} is enrolled ({len(opened_so_far) + 1} of {plan.clients.planned}).",
        *card_lines(slot, plan),
        "It cannot be drawn again. Mind the mirror: left means the client's own left.",
        *_cautions(row),
    )
    assignment = Assignment(row["client_code"], slot, entry.time)
    card = card_words(slot, plan.arms.A.label, plan.arms.B.label)
    return Answer(lines, assignment, (study.path(ENROLLED),), {"enrolled": True, "card": card})


def _cautions(row: Mapping[str, str]) -> Iterator[str]:
    """Say what to mind with just this client."""
    if row.get("lid_capillaries") not in _NO_CAPILLARIES:
        yield CAPILLARIES
    if row.get("contacts") != "no":
        yield CONTACTS
    alike = row.get("eyelid_symmetry_ok")  # unless it is yes, left/right she would have no card
    if alike != "yes":
        yield EYELIDS_DIFFER if alike == "no" else EYELIDS_UNKNOWN


def _save(study: Study, table: Table, row: Mapping[str, str]) -> None:
    """Append the client's row to clients.csv, once."""
    if not _saved_earlier(study.asked(), table, row):
        study.extend_enrolled(table.names, row)


def _saved_earlier(asked: Asked, table: Table, row: Mapping[str, str]) -> bool:
    """Tell whether an earlier run stopped between saving these answers and journalling them."""
    known = asked.row(row["client_code"])
    if known is None:
        return False
    other = differing(known, row)
    if other:
        raise UserError(
            f"{row['client_code']} already stands in {ENROLLED} with other answers: "
            f"{', '.join(table[name].title for name in other)}. No card was opened.",
            "Give the answers of that row if they still hold; else ask again under a new code.",
        )
    return True


def _refuse_waiting(study: Study, code: str) -> None:
    """Refuse the next card while one may have been opened that the journal lost."""
    others = [one for _, one in study.asked().waiting(study.journal()) if one != code]
    if others:
        raise UserError(
            f"{others[0]} takes part by {ENROLLED}, but {JOURNAL} holds no card for her: an "
            "earlier run stopped in between, or the journal was changed. Nothing was saved.",
            f"Enrol {others[0]} first, with the answers of her row. If she cannot take part any "
            "more and never had a card, take her row out and ask her again.",
        )
