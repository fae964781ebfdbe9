"""A spare card for a client who never came: one for each of them, until the final analysis."""

from collections.abc import Sequence

from pmulab.counting import counted
from pmulab.disk import typed
from pmulab.entries import Entry
from pmulab.errors import UserError
from pmulab.stations.corrections import finished
from pmulab.stations.reasons import refuse_telling
from pmulab.study import Study

REPLACEMENT = "replacement enrolled"


def spares_open(study: Study, planned: int) -> int:
    """Count the spare cards that may be opened: clients who never came and have no replacement.

    Parameters
    ----------
    study : Study
    planned : int
        Clients that the plan asks for.

    Returns
    -------
    int
        0 while planned clients are still to be enrolled, and after the final analysis.
    """
    cards, done = study.assignments(), _analysed(study.journal())
    beyond = len(cards) - planned
    return 0 if beyond < 0 or done else max(0, sum(bool(one.absent) for one in cards) - beyond)


def refuse_beyond(study: Study, planned: int, reason: str) -> None:
    """Refuse a client beyond the planned number, unless she replaces one who never came.

    Parameters
    ----------
    study : Study
        Locked; nothing is changed.
    planned : int
        Clients that the plan asks for.
    reason : str
        Whom she replaces and why; '' for none.

    Raises
    ------
    UserError
        If nobody is left to replace, the study was analysed to the end, no reason is given, or
        it tells who a person is.
    """
    cards = study.assignments()
    if len(cards) < planned:
        return
    done = _analysed(study.journal())
    if done:
        raise UserError(
            f"All {planned} planned clients are enrolled and the study was analysed on {done}, so "
            "no card was opened.",
            "Who knows the result adds nobody. Begin a new study to see more clients.",
        )
    here = typed(study.folder)
    if not spares_open(study, planned):
        absent = sum(bool(one.absent) for one in cards)
        replaced = (
            f"{counted(absent, 'client')} never came, and each has her replacement"
            if absent
            else "none of them is written down as one who never came"
        )
        raise UserError(
            f"All {planned} planned clients are enrolled, and {replaced}. No card was opened.",
            "The plan says how many, and more are not added by wish. If a client with a card never "
            "came, or took back her consent before any work, write that down first: "
            f"pmulab absent {here} --client CODE --reason WHY. Then a spare card opens for her.",
        )
    if not reason:
        raise UserError(
            f"All {planned} planned clients are enrolled, so no card was opened.",
            "For a client who never came there is a spare card; say for whom it is: "
            '--replacement "for whom and why".',
        )
    refuse_telling(reason)


def _analysed(entries: Sequence[Entry]) -> str:
    """Give the day of the final analysis, '' before it."""
    return next((entry.time[:10] for entry in reversed(entries) if finished(entry)), "")
