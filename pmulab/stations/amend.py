"""Correct honestly: say why a file was changed after it was locked, saved or analysed."""

from collections.abc import Iterator

from pmulab.enrolment import ANSWERS
from pmulab.entries import AMENDED
from pmulab.errors import UserError
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.corrections import last_known, record_files
from pmulab.stations.memory import forgotten, remember
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.reasons import refuse_telling
from pmulab.study import ENROLLED, PLAN, Study


def amend(study: Opened, reason: str) -> Answer[tuple[str, ...]]:
    """Write down why plan, answers or records were changed; it stays on every output.

    The locked plan holds all the same. Cards and journal are never amended: they are put back
    from a copy.

    Parameters
    ----------
    study : Study or path-like
    reason : str
        What was wrong and how it is known, without names.

    Returns
    -------
    Answer
        Its value names the files.

    Raises
    ------
    UserError
        If the plan is not locked, nothing was changed, or the reason is missing or tells a person.
    """
    folder, why = opened(study), " ".join(reason.split())
    _refuse_reason(why)
    if folder.locked() is None:
        raise UserError(
            "The plan is not locked yet: until then everything may simply be changed.",
            "Nothing was written down.",
        )
    records, _ = records_of(folder)
    with folder.writing():
        gone = forgotten(folder, records)
        files = tuple(_changed(folder, records.fingerprint, lost=bool(gone)))
        if not files:
            raise UserError(
                "Nothing was changed that needs a reason.",
                "Correct the file first, save it, then say why. Nothing was written down.",
            )
        folder.record(
            AMENDED,
            reason=why,
            files=list(files),
            records=records.fingerprint,
            **{ANSWERS: folder.changed_answers()},
            **gone,
        )
        remember(folder, records)
    lines = (
        *alarms(folder),
        f"Written down for {', '.join(files)}: {why}",
        "It stays in the journal and stands on handout and slides. Analyse again, if you had.",
        *(["The locked plan holds all the same."] if PLAN in files else []),
    )
    return Answer(lines, files, data={"files": list(files), "reason": why})


def _refuse_reason(why: str) -> None:
    if not why:
        raise UserError("No reason was given.", "Say in a few words what was wrong.")
    refuse_telling(why)


def _changed(study: Study, records: str, *, lost: bool) -> Iterator[str]:
    """Name what was changed since it was locked, saved, or last analysed or amended."""
    if study.unexplained_edits():
        yield PLAN
    if study.changed_answers():
        yield ENROLLED
    if lost or records != last_known(study.journal()):
        yield from record_files(study)
