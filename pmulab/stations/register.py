"""Announce a plan to the study group before the first client, and tell what became of it."""

from datetime import date
from pathlib import Path

from pmulab.analysis.registered import expected_by
from pmulab.counting import counted
from pmulab.disk import typed
from pmulab.errors import UserError
from pmulab.findings.pooled import Registered
from pmulab.folders import HOUR, tidy
from pmulab.packs.model import study_fingerprint
from pmulab.packs.register import FOLDER, NewsState, announce, entry_path, read_register, tell
from pmulab.stations.analyse import FINISHED
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened
from pmulab.stations.pause import stop_of
from pmulab.study import Study
from pmulab.wording.amounts import sized

ANNOUNCED = "announced to the group"


def register(study: Opened, group: str | Path, due: str = "") -> Answer[Path]:
    """Announce a locked plan in the group's shared folder; later, tell how it stands.

    Parameters
    ----------
    study : Study or path-like
    group : path-like
        The folder that the study group shares.
    due : str, default=''
        Day by which the group may expect the pack, ISO 8601; worked out from the planned number
        of clients if not given.

    Returns
    -------
    Answer
        Its value is the file that was written; nothing is ever written over.

    Raises
    ------
    UserError
        If the plan is not locked, there is nothing new to tell, or the folder cannot be written.
    """
    folder, place = opened(study), Path(group).expanduser()
    entry = _entry(folder, due)
    known = {one.study: one for one in read_register(place).entries}
    with folder.writing():
        tidy([place / FOLDER], older=HOUR)
        before = known.get(entry.study)
        if before is not None and _told(folder, before):
            return _news(folder, place, before)
        # the entry is there already where a run was killed before the journal knew of it
        entry = before or entry
        path = entry_path(place, entry) if before else announce(place, entry)
        folder.record(ANNOUNCED, study=entry.study, due=entry.due)
    lines = [
        f"Announced to the group: {entry.question}",
        f"Main measure: {entry.primary}; said to matter: "
        f"{sized(f'{entry.worthwhile:g}', entry.unit)}; "
        f"{counted(entry.planned, 'client')}; the pack is expected by {entry.due}.",
    ]
    if entry.clients_then:
        lines.append(
            f"Mind: {counted(entry.clients_then, 'client')} had a card already, and every pooled "
            "report says so. Announce the next plan before its first client."
        )
    return Answer(tuple(lines), path, (path,))


def announced(study: Study) -> str:
    """Say when a plan was announced to the group, as the journal knows.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
        '' if it never was.
    """
    for one in study.journal():
        if one.event == ANNOUNCED:
            return f"Announced on {one.time[:10]}; expected by {one.detail['due']}."
    return ""


def _told(folder: Study, entry: Registered) -> bool:
    """Tell whether the journal knows that the plan was announced."""
    return any(
        one.event == ANNOUNCED and one.detail.get("study") == entry.study
        for one in folder.journal()
    )


def _entry(folder: Study, due: str) -> Registered:
    locked = folder.locked()
    if locked is None:
        raise UserError(
            "This plan is not locked, so it can still change.",
            f"Lock it first: pmulab lock {typed(folder.folder)}",
        )
    plan, today = locked.plan, folder.now().date()
    healed = max((plan.healed.latest for one in plan.outcomes if one.table == "healed"), default=0)
    expected = _day(due) if due else expected_by(today, plan.clients.planned, healed)
    return Registered(
        code=plan.study.code,
        study=study_fingerprint(locked.fingerprint, locked.allocation),
        question=plan.study.question,
        primary=plan.primary.title,
        unit=plan.primary.unit,
        worthwhile=plan.primary.worthwhile,
        planned=plan.clients.planned,
        registered=today.isoformat(),
        due=expected.isoformat(),
        clients_then=len(folder.assignments()),
    )


def _news(folder: Study, group: Path, known: Registered) -> Answer[Path]:
    enrolled = len(folder.assignments())
    stopped = stop_of(folder.journal()) is not None
    state: NewsState = "stopped" if stopped else "analysed" if _analysed(folder) else "running"
    if not enrolled and not stopped:
        raise UserError(
            f"This plan was announced on {known.registered}, and there is nothing new to tell.",
            "Nothing was changed. Tell the group again once clients are enrolled.",
        )
    path = tell(group, known, folder.now().date(), state, enrolled)
    folder.record("told the group", study=known.study, state=state, enrolled=enrolled)
    return Answer(
        (f"Told the group: {state}, {counted(enrolled, 'client')} so far.",), path, (path,)
    )


def _analysed(folder: Study) -> bool:
    """Tell whether the finished study was analysed."""
    return any(
        one.event == "analysed" and one.detail.get("way") == FINISHED for one in folder.journal()
    )


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise UserError(f"{text!r} is no day.", "Write it as 2026-03-01.") from None
