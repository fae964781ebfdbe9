"""How the blind scoring of a study went; shows no arm while the study runs."""

from pmulab.analysis.values import withdrawn
from pmulab.findings import Scoring
from pmulab.scoring import agreements, guesses, judgements, kept_more, questions
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.rounds import Round, rounds
from pmulab.study import Study
from pmulab.tables import Records
from pmulab.wording import scoring_lines

_COMPARED = ("analysed", "planned look", "unplanned look")
_NONE = "No scoring round was collected yet: pmulab score prepare, score, pmulab score collect."


def agreement(study: Opened) -> Answer[Scoring | None]:
    """Say how well looks and assessors agree, and whether the blinding held; writes nothing.

    Parameters
    ----------
    study : Study or path-like

    Returns
    -------
    Answer
        Its value is None as long as no round was collected.

    Raises
    ------
    UserError
        If there is no study in the folder, or a round cannot be read.
    """
    folder = opened(study)
    found = scoring_of(folder, records_of(folder)[0])
    if found is None:
        return Answer((*alarms(folder), _NONE), None)
    return Answer((*alarms(folder), *scoring_lines(found)), found)


def scoring_of(study: Study, records: Records, *, compare: bool = False) -> Scoring | None:
    """Compute everything about the rounds whose key was opened.

    Parameters
    ----------
    study : Study
    records : Records
        Clients who took back their consent are left out.
    compare : bool, default=False
        Also count which arm's eyelid kept more, side by side.

    Returns
    -------
    Scoring or None
        None when no key was opened.
    """
    done = [one for one in rounds(study) if one.opened is not None]
    if not done:
        return None
    read = [(one.key(study), one.sheets(study)) for one in done]
    gone = withdrawn(records)
    found = [
        said
        for key, sheets in read
        for said in judgements(key, sheets)
        if said.client_code not in gone
    ]
    arms = {
        (one.client_code, side): one.slot.arm_of(side)
        for one in study.assignments()
        if one.client_code not in gone
        for side in ("L", "R")
    }  # fmt: skip
    showings = [one for key, _ in read for one in key.showings if one.client_code not in gone]
    return Scoring(
        rounds=len(done),
        clients=len({one.client_code for one in showings}),
        photos=len({one.photo for one in showings}),
        repeats=sum(one.look == 2 for one in showings),
        assessors=tuple(sorted({one.assessor for one in found})),
        operators=tuple(sorted({one.assessor for one in found if one.operator})),
        agreements=agreements(found, questions(study.plan())),
        guesses=guesses(found, arms),
        kept_more=kept_more(read, arms) if compare else None,
        late=any(_late(study, one) for one in done),
    )


def _late(study: Study, one: Round) -> bool:
    """Tell whether the arms had been compared before the key of a round was opened."""
    number = one.opened.number if one.opened else 0
    return any(e.event in _COMPARED and e.number < number for e in study.journal())
