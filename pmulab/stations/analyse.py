"""Run the locked plan, or show how a running study stands with the arms hidden."""

import json
from dataclasses import dataclass, replace
from datetime import date
from importlib.metadata import version

from pmulab import __version__
from pmulab.analysis import Circumstances, Looking, cases, running_view, unfinished
from pmulab.analysis import analyse as run_plan
from pmulab.analysis.safety import with_earlier
from pmulab.disk import typed
from pmulab.errors import UserError
from pmulab.findings import Findings, Provenance, Running
from pmulab.plan import Plan
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.corrections import FINDINGS as FINDINGS
from pmulab.stations.corrections import corrections, lost_head
from pmulab.stations.earlier_harm import earlier_harm, harm_told
from pmulab.stations.memory import lost, remember
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.pause import stop_of
from pmulab.stations.reasons import refuse_telling
from pmulab.stations.replacing import REPLACEMENT
from pmulab.stations.scoring_found import scoring_of
from pmulab.study import ALLOCATION, Entry, Study
from pmulab.tables import Records, Report
from pmulab.wording import found_lines, running_lines

FINISHED = "finished"
PLANNED, UNPLANNED = "planned look", "unplanned look"
_LIBRARIES = ("numpy", "scipy", "pandas", "statsmodels")


@dataclass(frozen=True, slots=True)
class _Way:
    """How the arms come to be compared: at the end, or at a planned or an unplanned look."""

    kind: str
    reason: str = ""
    seen: tuple[int, ...] = ()


def analyse(
    study: Opened, *, look: bool = False, unplanned: str = "", stopped: str = ""
) -> Answer[Findings | Running]:
    """Analyse a finished study; show the masked running view of one that runs.

    Parameters
    ----------
    study : Study or path-like
    look : bool, default=False
        Take the early look that the plan allows.
    unplanned : str, default=''
        Reason for an early look that the plan does not allow; shown on every output for good.
    stopped : str, default=''
        Reason for ending the study before the planned number; stopping for harm is always
        allowed.

    Returns
    -------
    Answer
        Its value is the findings (written to findings.json), or the running view.

    Raises
    ------
    UserError
        If the records hold problems that block an analysis, a look is not allowed, or a
        reason tells who a person is.
    """
    folder = opened(study)
    plan = folder.plan()
    refuse_telling(unplanned)
    refuse_telling(stopped)
    if stopped:
        _stop(folder, stopped)
    records, report = records_of(folder)
    with folder.writing():
        remember(folder, records)
    way = _way(folder, plan, records, look=look, unplanned=unplanned)
    if way is None:
        return _show_running(folder, plan, records, report)
    if report.blocks:
        stop = "The study is recorded as stopped. " if stopped else ""
        raise UserError(
            f"{stop}The records cannot be analysed yet. {report.summary}",
            f"See every place with: pmulab check {typed(folder.folder)}  Mend the records, then "
            "analyse.",
        )
    with folder.writing():
        folder.note_gone(lost_head(folder))
        _begin_look(folder, plan, way, records)
        circumstances = Circumstances(
            _provenance(folder, records),
            _looking(folder, way),
            scoring_of(folder, records, compare=True),
            earlier_harm(folder, records),
        )
        findings = run_plan(plan, folder.assignments(), records, circumstances)
        text = findings.to_json()
        path = folder.remake(FINDINGS, text)
        folder.record(
            "analysed",
            way=way.kind,
            records=records.fingerprint,
            findings=folder.file_hash(FINDINGS),
        )
    return Answer(tuple(found_lines(findings)), findings, (path,), {"findings": json.loads(text)})


def _stop(study: Study, reason: str) -> None:
    """Write down that the study ends here, whatever state its records are in."""
    with study.writing():
        study.record_once(
            "study stopped", since="", reason=reason, clients=len(study.assignments())
        )


def _begin_look(study: Study, plan: Plan, way: _Way, records: Records) -> None:
    """Write a look down before it shows anything; one that a killed run began goes on."""
    if way.kind == FINISHED or _begun(study, way, records):
        return
    if way.kind == PLANNED:
        _refuse_look(study, plan, len(way.seen))  # again: another window may have looked
    study.record(
        way.kind,
        reason=way.reason,
        clients=len(study.assignments()),
        complete=list(way.seen),
    )


def _begun(study: Study, way: _Way, records: Records) -> bool:
    """Tell whether just this look stands in the journal and no analysis came of it.

    Looking once more at the same records for the same reason is no further unplanned look.
    """
    for entry in reversed(study.journal()):
        if entry.event in (PLANNED, UNPLANNED):
            told = (entry.event, entry.detail["reason"], tuple(entry.detail.get("complete", ())))
            return told == (way.kind, way.reason, way.seen)
        if entry.event == "analysed" and (
            way.kind != UNPLANNED or entry.detail.get("records") != records.fingerprint
        ):
            return False
    return False


def _way(study: Study, plan: Plan, records: Records, *, look: bool, unplanned: str) -> _Way | None:
    """Choose how the arms may be compared now; None for not yet."""
    assignments = study.assignments()
    if _stop_reason(study.journal()):
        return _Way(FINISHED)
    if study.locked() is not None and not unfinished(plan, assignments, records):
        return _Way(FINISHED)
    if unplanned:
        return _Way(UNPLANNED, unplanned)
    if look:
        found = cases(plan, assignments, records, plan.primary)
        seen = tuple(number for number, case in enumerate(found, start=1) if case.complete)
        way = _Way(PLANNED, f"with {len(seen)} complete clients, as planned", seen)
        if not _begun(study, way, records):
            _refuse_look(study, plan, len(seen))
        return way
    return None


def _looking(study: Study, way: _Way) -> Looking:
    """Collect the planned looks so far; an unplanned one costs nothing more than its shame."""
    taken = [
        entry.detail.get("complete", []) for entry in study.journal() if entry.event == PLANNED
    ]
    early = way.kind == PLANNED
    return Looking(tuple(map(tuple, taken[:-1] if early else taken)), early)


def _refuse_look(study: Study, plan: Plan, complete: int) -> None:
    if plan.analysis.after_every_client:
        return
    planned = plan.analysis.looks
    taken = sum(entry.event == PLANNED for entry in study.journal())
    if taken < len(planned) and complete >= planned[taken]:
        return
    allowed = ", ".join(map(str, planned)) or "none"
    raise UserError(
        f"The plan allows no look with {complete} complete clients (planned looks: {allowed}; "
        f"taken: {taken}).",
        "Wait for the end. Whoever must look anyway gives a reason (--unplanned), which stays "
        "visible on every output.",
    )


def _show_running(
    study: Study, plan: Plan, records: Records, report: Report
) -> Answer[Findings | Running]:
    running = running_view(plan, study.assignments(), records, study.now().date())
    earlier = earlier_harm(study, records)
    running = replace(running, safety=with_earlier(running.safety, earlier))
    lines = (
        *lost(study, records).told(coded=True),
        *alarms(study),
        "The study is running; the arms stay hidden.",
        *_unreadable(study, report),
        *running_lines(running),
    )
    data = {"running": running.to_dict()}
    return Answer(lines, running, data=data, found_problems=report.blocks)


def _unreadable(study: Study, report: Report) -> tuple[str, ...]:
    """Say that a view of records with problems may not show everything."""
    if not report.blocks:
        return ()
    return (
        "The records hold problems, so what follows may be incomplete. See every place with: "
        f"pmulab check {typed(study.folder)}",
    )


def _provenance(study: Study, records: Records) -> Provenance:
    locked = study.locked()
    journal = study.journal()
    return Provenance(
        software=f"pmulab {__version__}",
        libraries={name: version(name) for name in _LIBRARIES},
        plan=locked.fingerprint if locked else study.plan().fingerprint,
        records=records.fingerprint,
        allocation=study.file_hash(ALLOCATION),
        locked=locked.time if locked else "",
        analysed=date.fromisoformat(study.now().date().isoformat()).isoformat(),
        changes=study.plan_changes(),
        looks=(
            *_looks(journal, study.plan()),
            *_earlier_analyses(journal, records),
            *corrections(journal),
        ),
        stopped=_stop_reason(journal),
        replacements=_replacements(journal),
        tampering=study.tampering(),
        journal=study.head(),
        harm=harm_told(study, records),
    )


def _looks(journal: tuple[Entry, ...], plan: Plan) -> list[str]:
    planned = [entry for entry in journal if entry.event == PLANNED]
    if plan.analysis.after_every_client and len(planned) > 1:
        # One line for what the plan allows at any time; unplanned looks are told one by one.
        days = f"{planned[0].time[:10]} to {planned[-1].time[:10]}"
        told = f"Looked {len(planned)} times while the study ran ({days}), as planned."
        return [told, *_looks(tuple(e for e in journal if e.event != PLANNED), plan)]
    return [
        f"{entry.event.capitalize()} on {entry.time[:10]} after {entry.detail['clients']} "
        f"clients: {entry.detail['reason']}."
        for entry in journal
        if entry.event in (PLANNED, UNPLANNED)
    ]


def _earlier_analyses(journal: tuple[Entry, ...], records: Records) -> list[str]:
    """Name the earlier analyses of a finished study whose records were different."""
    days = {
        entry.time[:10]: None
        for entry in journal
        if entry.event == "analysed"
        and entry.detail.get("way") == FINISHED
        and entry.detail.get("records") != records.fingerprint
    }
    return [f"The records were changed after the analysis of {day}." for day in days]


def _stop_reason(journal: tuple[Entry, ...]) -> str:
    entry = stop_of(journal)
    return str(entry.detail["reason"]) if entry else ""


def _replacements(journal: tuple[Entry, ...]) -> tuple[str, ...]:
    """Say for whom each client beyond the planned number came."""
    return tuple(
        f"A client beyond the planned number was enrolled on {entry.time[:10]}, to replace one: "
        f"{entry.detail['reason']}."
        for entry in journal
        if entry.event == REPLACEMENT
    )
