"""What vanished from the records is put back, or its reason said, before anybody is next."""

from collections.abc import Iterator

from pmulab.disk import typed
from pmulab.errors import UserError
from pmulab.stations.memory import Lost, lost, remembered
from pmulab.study import Study
from pmulab.tables import Records

PAUSE = "PAUSE NOW:"


def put_back(study: Study) -> str:
    """Say what to do about a row that an earlier reading saw and that is gone or milder now.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
    """
    return (
        "Put the row back. If the row itself was wrong, say why: pmulab amend "
        f'{typed(study.folder)} --reason "why".'
    )


def lost_lines(study: Study, found: Lost, *, stopped: bool) -> Iterator[str]:
    """Say what vanished and what to do about it.

    Parameters
    ----------
    study : Study
    found : Lost
    stopped : bool
        Whether the study was stopped, so that there is nothing to pause.

    Yields
    ------
    str
    """
    if not found:
        return
    told = list(found.told(coded=True))
    if not stopped and (found.gone or found.milder):
        told[0] = f"{PAUSE} {told[0]}"
    yield from told
    yield put_back(study)


def missing_words(study: Study) -> str:
    """Say that harm an earlier reading saw was missing when the records were last read.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
        '' where nothing was missing.
    """
    missing = remembered(study.journal()).missing
    if not missing:
        return ""
    return (
        f"{PAUSE} {' '.join(missing)} {put_back(study)} Then check the records (notebook 02). "
        "Nobody else is worked on in this study until then."
    )


def refuse_lost(study: Study, records: Records) -> None:
    """Refuse the next client while harm that was recorded earlier is gone without a reason.

    Parameters
    ----------
    study : Study
    records : Records

    Raises
    ------
    UserError
        If an event that was seen earlier is gone or milder.
    """
    found = lost(study, records)
    if found.gone or found.milder:
        raise UserError(
            f"{PAUSE} {' '.join(found.told(coded=True))}",
            f"No card was opened and nothing was saved. {put_back(study)} Then enrol again.",
        )


def refuse_worked(study: Study, code: str) -> None:
    """Refuse to call a client absent whom an earlier reading saw worked on.

    Parameters
    ----------
    study : Study
    code : str

    Raises
    ------
    UserError
        If she was seen worked on and no amendment has said since that this was wrong.
    """
    day = remembered(study.journal()).worked.get(code)
    if day is not None:
        raise UserError(
            f"On {day} the sessions said that {code} was worked on, so she was not absent.",
            "Put her rows back. If they were wrong, say why first: pmulab amend "
            f'{typed(study.folder)} --reason "why". If she did not come back for the healed '
            "visit, write 'lost' in the table 'healed'. Nothing was written down.",
        )
