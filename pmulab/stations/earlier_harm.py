"""Harm that was recorded before this reading, as the findings tell it."""

from pmulab.entries import AMENDED
from pmulab.findings import Earlier
from pmulab.stations.memory import lost
from pmulab.stations.pause import pause_of
from pmulab.stations.reviews import handed_on, open_again
from pmulab.study import Study
from pmulab.tables import Records


def earlier_harm(study: Study, records: Records) -> Earlier:
    """Count harm that vanished or was corrected, and tell the review that holds.

    Parameters
    ----------
    study : Study
    records : Records

    Returns
    -------
    Earlier
    """
    found, pause = lost(study, records), pause_of(study, records)
    amended = [entry.detail for entry in study.journal() if entry.event == AMENDED]
    corrected = sum(len(one.get("gone", ())) + len(one.get("milder", ())) for one in amended)
    reviewed = open_again(pause.review, records, coded=False) if pause.review else ""
    return Earlier(len(found.gone), len(found.milder), corrected, reviewed)


def harm_told(study: Study, records: Records) -> tuple[str, ...]:
    """Say what vanished and every review, without any client's code.

    Parameters
    ----------
    study : Study
    records : Records

    Returns
    -------
    tuple of str
    """
    return (*lost(study, records).told(), *handed_on(study.journal(), records))
