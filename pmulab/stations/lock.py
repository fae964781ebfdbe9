"""Freeze the plan, draw the cards, and lay out the workbook."""

from secrets import randbits

from pmulab.allocation import GENERATOR, Schedule, draw, seal
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, expectations, opened
from pmulab.study import ALLOCATION, RECORDS, Locked, Study

PROMISES = ("allowed_by", "later_use", "unblinding", "looking_early", "after_care", "sharing")
CHAIRSIDE = "chairside-sheet.html"


def lock(study: Opened) -> Answer[Locked]:
    """Lock the plan of a study: nothing about it changes after that.

    Parameters
    ----------
    study : Study or path-like

    Returns
    -------
    Answer
        Its value is the locked plan.

    Raises
    ------
    UserError
        If it is locked already, or something that has to be settled first is still empty.
    """
    folder = opened(study)
    plan = folder.plan_as_written()
    _refuse_unsettled(folder, plan)
    return lock_with(folder, plan, draw(plan.study.design, plan.clients.planned, randbits(64)))


def lock_with(study: Study, plan: Plan, schedule: Schedule) -> Answer[Locked]:
    """Lock a plan with a schedule that is already drawn.

    Parameters
    ----------
    study : Study
    plan : Plan
    schedule : Schedule

    Returns
    -------
    Answer
    """
    from pmulab.tables.chairside import chairside_sheet
    from pmulab.tables.workbook import workbook_bytes

    expected = expectations(plan, ())
    with study.writing():
        _refuse_relock(study)
        files = [study.keep(ALLOCATION, seal(schedule))]
        if not study.path(RECORDS).exists():
            files.append(study.keep(RECORDS, workbook_bytes(plan.tables(), expected)))
        files.append(study.remake(CHAIRSIDE, chairside_sheet(plan.tables(), expected)))
        study.record(
            "plan locked",
            plan=plan.to_dict(),
            fingerprint=plan.fingerprint,
            allocation=study.file_hash(ALLOCATION),
            workbook=study.file_hash(RECORDS),
            generator=GENERATOR,
            cards=len(schedule),
        )
    locked = study.locked()
    if locked is None:
        raise RuntimeError("the journal did not keep the locked plan")
    lines = (
        f"The plan is locked ({locked.time}). Fingerprint: {locked.fingerprint[:16]}",
        f"{len(schedule)} cards are drawn and sealed. Nobody reads them ahead.",
        f"Enrol the first client: pmulab enrol {study.folder} --client C101",
    )
    return Answer(lines, locked, tuple(files), {"fingerprint": locked.fingerprint})


def _refuse_relock(study: Study) -> None:
    locked = study.locked()
    if locked is not None:
        raise UserError(
            f"This plan was locked on {locked.time}.",
            "A locked plan stays as it is; begin a new study for a new question.",
        )


def _refuse_unsettled(study: Study, plan: Plan) -> None:
    _refuse_relock(study)
    empty = [name for name in PROMISES if not getattr(plan.promises, name).strip()]
    if empty:
        raise UserError(
            f"{study.path('plan.toml')}: still empty in [promises]: {', '.join(empty)}.",
            "Write one or two sentences on each before the plan is locked.",
        )
