"""Write down that an enrolled client never came to her session."""

from pmulab.disk import typed
from pmulab.errors import UserError
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.memory import remembered
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.put_back import refuse_worked
from pmulab.stations.reasons import refuse_telling
from pmulab.study import Entry, Study
from pmulab.tables.harm_seen import harm_of
from pmulab.tables.worked import worked

NEVER_CAME = "client never came"


def absent(study: Opened, client_code: str, reason: str) -> Answer[Entry]:
    """Say that a client whose card is open was never worked on; she stays counted.

    Parameters
    ----------
    study : Study or path-like
    client_code : str
    reason : str
        Why, without names.

    Returns
    -------
    Answer
        Its value is the line of the journal.

    Raises
    ------
    UserError
        If she was not enrolled, was worked on after all by these records or an earlier reading
        of them, had an adverse event, no reason is given, or the reason tells a person.
    """
    folder, code, why = opened(study), client_code.strip().upper(), reason.strip()
    if not why:
        raise UserError("No reason was given.", "Say in a few words why she never came.")
    refuse_telling(why)
    if code not in {one.client_code for one in folder.assignments()}:
        raise UserError(f"{code} was not enrolled.", "Give the code of a client with a card.")
    records, _ = records_of(folder)
    rows = records.sessions[worked(records)]
    if (rows["client_code"] == code).any():
        raise UserError(
            f"The sessions say that {code} was worked on.",
            "If she did not come back for the healed visit, write 'lost' in the table 'healed'.",
        )
    refuse_worked(folder, code)
    known = (*harm_of(records), *remembered(folder.journal()).known)
    if any(one.client_code == code for one in known):
        raise UserError(
            f"An adverse event of {code} is recorded, so she cannot be called absent.",
            "If she was worked on, write her sessions too. If the event is another client's, put "
            f'its code right, and say why: pmulab amend {typed(folder.folder)} --reason "why". '
            "Nothing was written down.",
        )
    with folder.writing():
        entry = _known(folder, code, why) or folder.record(NEVER_CAME, client_code=code, reason=why)
    lines = (
        *alarms(folder),
        f"{code} never came: {why}. She stays counted as drawn by lot and not seen.",
    )
    return Answer(lines, entry, data={"client_code": code, "reason": why})


def _known(study: Study, code: str, why: str) -> Entry | None:
    """Give the line that says so already; two reasons for one client are refused."""
    for entry in study.journal():
        if entry.event == NEVER_CAME and entry.detail["client_code"] == code:
            if entry.detail["reason"] == why:
                return entry
            raise UserError(
                f"That {code} never came was written down on {entry.time[:10]}: "
                f"{entry.detail['reason']}.",
                "Nothing was changed.",
            )
    return None
