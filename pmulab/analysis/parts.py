"""The main outcome in parts of the clients: exploratory, and refused where a part is too small."""

from collections.abc import Sequence
from dataclasses import replace

from pmulab.allocation import Assignment
from pmulab.analysis.values import cases
from pmulab.errors import UserError
from pmulab.estimate.subgroups import Subgroups, group_subgroups, paired_subgroups
from pmulab.plan import Plan
from pmulab.tables import Records
from pmulab.tables.fields import Field

_NOT_KNOWN = "not known"


def columns(plan: Plan) -> dict[str, Field]:
    """Give the columns that may part the clients: what was known before anybody was treated.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of str to Field
        Choices and yes/no entries of the clients table, without consents.
    """
    fields = plan.tables()["clients"].fields
    return {
        one.name: one
        for one in fields
        if one.kind in ("choice", "flag") and not one.name.startswith(("consent", "eligible"))
    }


def in_parts(
    plan: Plan, assignments: Sequence[Assignment], records: Records, column: str
) -> Subgroups:
    """Compare the arms in each part of the clients.

    Parameters
    ----------
    plan : Plan
    assignments : sequence of Assignment
        Opened cards, in the order of enrolment.
    records : Records
        Checked, with nothing in them that blocks the analysis.
    column : str
        One of `columns`.

    Returns
    -------
    Subgroups
        A minus B in the unit of the main outcome, or a refusal, for each part.

    Raises
    ------
    UserError
        If the column is none of those, or the main outcome is answered by yes or no.
    """
    if column not in columns(plan):
        raise UserError(
            f"Clients cannot be parted by {column!r}.",
            f"Name one of: {', '.join(columns(plan))}.",
        )
    if plan.primary.yes_no:
        raise UserError(
            "A yes/no outcome is not looked at in parts of the clients.",
            "So few answers in each part would show luck only.",
        )
    asked = records.clients.drop_duplicates("client_code").set_index("client_code")[column]
    seen = [case for case in cases(plan, assignments, records, plan.primary) if case.complete]
    labels = [_label(asked.get(case.client_code)) for case in seen]
    step = plan.primary.step
    if plan.within_person:
        differences = [(one.values.a or 0.0) - (one.values.b or 0.0) for one in seen]
        return _with_unit(paired_subgroups(differences, labels, step=step), plan)
    values = [one.values.a if one.arm == "A" else one.values.b for one in seen]
    in_a = [one.arm == "A" for one in seen]
    found = group_subgroups([value or 0.0 for value in values], in_a, labels, step=step)
    return _with_unit(found, plan)


def _label(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = str(value)
    return text if text not in ("", "None", "nan", "<NA>") else _NOT_KNOWN


def _with_unit(found: Subgroups, plan: Plan) -> Subgroups:
    unit = plan.primary.unit
    parts = tuple(replace(one, answer=replace(one.answer, unit=unit)) for one in found.parts)
    return Subgroups(parts, replace(found.between, unit=unit))
