"""What a person types into the workbook: with mistakes, then mended. All values are invented."""

import openpyxl
from studies import SESSION

_WORKED = SESSION | {
    "passes": "2",
    "bleeding": "0",
    "pain_work": "3",
    "swelling_end": "1",
    "wipes": "20",
    "wipe_material": "damp_nonwoven",
    "numbing_class": "lidocaine_only",
    "numbing_min": "20",
    "operator_code": "OP1",
}


def messy(blank, target):
    """Type one row with a word where minutes belong."""
    return _typed(blank, target, [{"client_code": "C101", "work_min": "about ten"}])


def mended(blank, target, cards, day):
    """Type both eyelids of every client with a card, and sign that nothing went wrong.

    Parameters
    ----------
    blank, target : Path
    cards : sequence of Assignment
    day : date
        Of the sessions.
    """
    rows, signed = [], []
    for number, card in enumerate(cards, start=1):
        for side in ("L", "R"):
            arm = card.slot.arm_of(side)
            rows.append(_WORKED | {
                "client_code": card.client_code, "side": side, "session_date": day.isoformat(),
                "arm_planned": arm, "arm_actual": arm, "case_in_day": str(number),
                "order": "1" if side == card.slot.first else "2",
                "work_min": "12.5" if arm == "A" else "15",
            })  # fmt: skip
        signed.append({"client_code": card.client_code, "session_no": "1",
                       "event": "none_seen", "signed_by": "OP1"})  # fmt: skip
    return _typed(blank, target, rows, signed)


def _typed(blank, target, sessions, events=()):
    book = openpyxl.load_workbook(blank)
    for name, rows in {"sessions": sessions, "events": events}.items():
        sheet = book[name]
        columns = {str(cell.value).removesuffix(" *"): cell.column for cell in sheet[1]}
        for place, row in enumerate(rows, start=2):
            for column, value in row.items():
                sheet.cell(place, columns[column], value)
    book.save(target)
    return target
