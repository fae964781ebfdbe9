"""Freeze the plan, draw the cards, and lay out the workbook."""

from hashlib import sha256
from pathlib import Path
from secrets import randbits
from textwrap import wrap

from pmulab.allocation import GENERATOR, Schedule, draw, seal, unseal
from pmulab.disk import read_bytes, read_text, typed
from pmulab.entries import BEGUN
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.plan.steps import step_lines
from pmulab.questions.comments import PLACEHOLDER
from pmulab.stations.answer import Answer
from pmulab.stations.enrol import WORKED_OUT
from pmulab.stations.opening import Opened, expectations, opened
from pmulab.study import ALLOCATION, ENROLLED, FORMAT, JOURNAL, PLAN, RECORDS, Locked, Study
from pmulab.tables.fields import Table
from pmulab.wording import few_words
from pmulab.wording.few import too_few
from pmulab.wording.plans import telling_lines, unlike_lines

PROMISES = ("allowed_by", "later_use", "unblinding", "looking_early", "after_care", "sharing")
CHAIRSIDE = "chairside-sheet.html"
ANSWERS = "enrol-answers.toml"


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
        If it is locked already, something that has to be settled first is still empty, or an
        earlier run stopped half-way and the plan was changed since.
    """
    folder = opened(study)
    plan = folder.plan_as_written()
    _refuse_unsettled(folder, plan)
    schedule = _drawn_earlier(folder, plan)
    if schedule is None:
        schedule = draw(plan.study.design, plan.clients.planned, randbits(64))
    return lock_with(folder, plan, schedule)


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

    Raises
    ------
    UserError
        If it is locked already, or other cards were drawn for it.
    """
    from pmulab.tables.chairside import chairside_sheet
    from pmulab.tables.workbook import workbook_bytes

    expected = expectations(plan, ())
    with study.writing():
        _refuse_relock(study)
        if not study.journal():
            study.record(BEGUN, format=FORMAT)
        files = [_cards_kept(study, schedule)]
        blank = workbook_bytes(plan.tables(), expected)
        if not study.path(RECORDS).exists():
            files.append(study.keep(RECORDS, blank))
        steps = {key: step_lines(arm.steps) for key, arm in plan.arms.both}
        files.append(study.remake(CHAIRSIDE, chairside_sheet(plan.tables(), expected, steps)))
        files.append(study.remake(ANSWERS, blank_answers(plan.tables()["clients"])))
        study.record(
            "plan locked",
            plan=plan.to_dict(),
            fingerprint=plan.fingerprint,
            allocation=study.file_hash(ALLOCATION),
            workbook=sha256(blank).hexdigest(),
            generator=GENERATOR,
            cards=len(schedule),
        )
    locked = study.locked()
    if locked is None:
        raise RuntimeError("the journal did not keep the locked plan")
    lines = (
        f"The plan is locked ({locked.time}). Fingerprint: {locked.fingerprint[:16]}",
        f"{len(schedule)} cards are drawn and sealed: {plan.clients.planned} for the planned "
        "clients, the rest to replace clients who never come. Nobody reads them ahead.",
        *_not_own(plan),
        *telling_lines(plan),
        few_words(plan),
        *_accepted(plan),
        f"For each client fill a copy of {ANSWERS}, then: "
        f"pmulab enrol {typed(study.folder)} --client C101 --answers FILE",
    )
    return Answer(lines, locked, tuple(files), {"fingerprint": locked.fingerprint})


def blank_answers(table: Table) -> str:
    """Write the blank form for one client's answers.

    Parameters
    ----------
    table : Table
        The clients table of the study.

    Returns
    -------
    str
        TOML: a note and an empty line for each question, consent first.
    """
    skipped = (*WORKED_OUT, "client_code", "consent_withdrawn")
    fields = [field for field in table.fields if field.name not in skipped]
    fields.sort(key=lambda field: (field.group != "consent", field.needed == "no"))
    lines = [
        "# One client's answers. Copy this file for each client, fill the copy, and never write a",
        '# name. If she does not agree to be recorded, write consent_record = "no" and stop there.',
        "# 'unsure' is an answer too; it means not now.",
        "",
    ]
    for field in fields:
        needed = "" if field.needed != "no" else " May stay empty."
        note = f"{field.title}. {field.hint} Answer: {field.allowed}.{needed}"
        lines += [f"# {line}" for line in wrap(note, 96)]
        lines += [f"#   {anchor}" for anchor in field.anchors]
        lines += [f'{field.name} = ""', ""]
    return "\n".join(lines)


def empty_promises(plan: Plan) -> list[str]:
    """Name the promises of a plan that nobody wrote yet.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    list of str
        Those of `PROMISES`, in their order.
    """
    return [name for name in PROMISES if not getattr(plan.promises, name).strip()]


def _not_own(plan: Plan) -> tuple[str, ...]:
    """Say that the suggested smallest worthwhile difference was never made her own."""
    if plan.primary.worthwhile_own:
        return ()
    return (
        f"Mind: the smallest worthwhile difference ({plan.primary.worthwhile:g} "
        f"{plan.primary.unit}) is still the suggested value, and every output will say so.",
    )


def _accepted(plan: Plan) -> tuple[str, ...]:
    """Say what locking a plan means that can give no answer."""
    if not too_few(plan):
        return ()
    return ("By locking it all the same you say: I know that this study can only describe.",)


def _refuse_relock(study: Study) -> None:
    locked = study.locked()
    if locked is not None:
        raise UserError(
            f"This plan was locked on {locked.time}.",
            "A locked plan stays as it is; begin a new study for a new question.",
        )


def _drawn_earlier(study: Study, plan: Plan) -> Schedule | None:
    """Give the cards of a run that stopped before the journal knew of them; never draw twice."""
    path = study.path(ALLOCATION)
    if study.path(ENROLLED).exists():
        raise UserError(
            f"Clients were asked already ({ENROLLED}), but {JOURNAL} does not say that the plan "
            "was locked.",
            f"Put {JOURNAL} back from a copy. Nothing was changed.",
        )
    if not path.exists():
        return None
    found = unseal(read_text(path), str(path))
    if found.seed is None or found != draw(plan.study.design, plan.clients.planned, found.seed):
        raise UserError(
            f"{path} holds cards that were drawn for another design or number of clients: an "
            "earlier run stopped half-way, and the plan was changed since.",
            "Put design and planned number of clients back as they were, then lock again: cards "
            "are drawn once. Or begin a new study. Nothing was changed.",
        )
    return found


def _cards_kept(study: Study, schedule: Schedule) -> Path:
    path, sealed = study.path(ALLOCATION), seal(schedule)
    if not path.exists():
        return study.keep(ALLOCATION, sealed)
    if read_bytes(path) != sealed.encode():
        raise UserError(
            f"{path} holds other cards, or was saved by another program.",
            "Put it back as pmulab wrote it, then lock again. Nothing was changed.",
        )
    return path


def _refuse_unsettled(study: Study, plan: Plan) -> None:
    _refuse_relock(study)
    empty = empty_promises(plan)
    if empty:
        raise UserError(
            f"{study.path('plan.toml')}: still empty in [promises]: {', '.join(empty)}.",
            "Write one or two sentences on each before the plan is locked.",
        )
    _refuse_placeholders(study, plan)
    _refuse_unlike(study, plan)


def _refuse_placeholders(study: Study, plan: Plan) -> None:
    """Refuse a plan that still asks for a figure of her own."""
    left = [key for key, arm in plan.arms.both if PLACEHOLDER in arm.steps]
    if not left:
        return
    text = read_text(study.path(PLAN)).split("\n")
    lines = [str(number) for number, line in enumerate(text, 1) if PLACEHOLDER in line]
    where = " and ".join(f"'Steps of way {key}' (form 2)" for key in left)
    raise UserError(
        f"{study.path(PLAN)}, line {' and '.join(lines)}: {where} still "
        f"{'says' if len(left) == 1 else 'say'} '({PLACEHOLDER})'.",
        "Write the figure you work with, and take these words in brackets out; then lock.",
    )


def _refuse_unlike(study: Study, plan: Plan) -> None:
    """Refuse limits that no row can keep which was worked as the steps say.

    It can always be put right by telling the truth: by the limits, by the steps, or by leaving
    the column unchecked.
    """
    wrong, right = unlike_lines(plan)
    if wrong:
        raise UserError("\n".join((f"{study.path(PLAN)}:", *wrong)), "\n".join(right))
