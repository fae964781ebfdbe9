"""What every station needs first: the study, and what its plan lets the tables expect."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pmulab.allocation import Assignment
from pmulab.copies import second_copies
from pmulab.plan import Plan
from pmulab.plan.recorded import recorded
from pmulab.study import PLAN, Study
from pmulab.tables import Allotted, Expectations

Opened = Study | str | Path


def opened(study: Opened) -> Study:
    """Give the study of a folder.

    Parameters
    ----------
    study : Study or path-like

    Returns
    -------
    Study
    """
    return study if isinstance(study, Study) else Study(Path(study))


def expectations(
    plan: Plan, assignments: Sequence[Assignment], today: date | None = None
) -> Expectations:
    """Say what the tables of a study may be expected to hold.

    Parameters
    ----------
    plan : Plan
    assignments : sequence of Assignment
        Cards opened so far.
    today : date, optional
        The day on which records are read: nothing recorded may lie after it.

    Returns
    -------
    Expectations
    """
    return Expectations(
        design=plan.study.design,
        arms={"A": plan.arms.A.label, "B": plan.arms.B.label},
        lid=plan.study.lid,
        healed_window=(plan.healed.earliest, plan.healed.latest),
        planned_day=plan.healed.planned_day,
        allocation={
            one.client_code: Allotted(
                one.slot.left,
                one.slot.first,
                one.slot.arm,
                date.fromisoformat(one.revealed[:10]) if one.revealed else None,
            )
            for one in assignments
        },
        blinded_outcome=any(outcome.judged == "blind" for outcome in plan.outcomes),
        tables=plan.tables(),
        recorded=recorded(plan),
        today=today,
    )


def expected(study: Study) -> Expectations:
    """Say what the tables of a study folder may be expected to hold.

    Parameters
    ----------
    study : Study

    Returns
    -------
    Expectations
        Without any card before the plan is locked.
    """
    return expectations(study.plan(), study.assignments(), study.now().date())


def alarms(study: Study) -> tuple[str, ...]:
    """Say what was changed outside the kit; every station that speaks of a study says it first.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of str
        Changed cards and journal lines, edits of plan.toml after locking, and second copies
        that a shared folder left.
    """
    outside = [f"Changed outside pmulab: {one}" for one in study.tampering()]
    edits = [
        f"plan.toml was edited after locking ({one}){study.since(PLAN)}. The locked plan holds."
        for one in study.unexplained_edits()
    ]
    return (*outside, *edits, *second_copies(study.folder))
