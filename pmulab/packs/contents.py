"""What leaves the studio: chosen by consent, under fresh codes, harm counted over everybody."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from secrets import SystemRandom

from pmulab.allocation import Assignment
from pmulab.analysis import Circumstances, analyse, cases
from pmulab.analysis.values import agreed_to_share
from pmulab.errors import UserError
from pmulab.findings import Findings
from pmulab.findings.held_back import may_be_shown, shareable
from pmulab.packs.deidentify import deidentified
from pmulab.packs.model import LONGEST_LABEL, Contents
from pmulab.plan import Plan
from pmulab.tables import Records, find_identifiers
from pmulab.tables.shared import differences_table, frame_of, shared_frames, shared_tables

_CODES = range(100, 1000)

Items = Callable[[Findings], Sequence[Mapping[str, str]]]


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """A finished study, as it lies in the studio.

    Parameters
    ----------
    assignments : sequence of Assignment
        Opened cards.
    records : Records
    findings : Findings
        Of everybody, as analysed.
    """

    assignments: Sequence[Assignment]
    records: Records
    findings: Findings


def contents(source: Source, items: Items, made: date, made_by: str = "") -> Contents:
    """Put together what may leave the studio.

    Parameters
    ----------
    source : Source
    items : callable
        Gives the reporting items of findings, as plain data.
    made : date
        Today.
    made_by : str, default=''
        Who hands it on, as they wish to be named.

    Returns
    -------
    Contents

    Raises
    ------
    UserError
        If the plan was never locked, nobody agreed to share, or the name tells a person.
    """
    plan = source.findings.plan
    name = " ".join(made_by.split())
    _refuse(source, name)
    agreed, yes = _agreed(plan, source), agreed_to_share(source.records)
    worked_on = _worked_on(plan, source)
    telling = _would_tell(plan, source)
    codes = {} if telling else fresh_codes(agreed, [one.client_code for one in source.assignments])
    whole = shareable(source.findings)
    findings, withheld_texts = deidentified(
        whole if telling else _of_those_who_agreed(source, whole)
    )
    differences = frame_of(differences_table(), _rows(plan, source, codes))
    frames, withheld = shared_frames(
        source.records, plan.tables(), codes, {one.name for one in plan.outcomes}
    )
    tables = {"differences": differences_table(), **shared_tables(plan.tables())}
    return Contents(
        findings=findings,
        tables=tables,
        frames={"differences": differences, **frames},
        clients=len(worked_on if telling else agreed),
        left_out=len(worked_on) - len(agreed),
        withheld=withheld,
        plan_withheld=withheld_texts,
        items=tuple(items(findings)),
        made=made.isoformat(),
        made_by=name,
        agreed=sum(one.client_code in yes for one in source.assignments),
        rows_withheld=telling,
    )


def fresh_codes(codes: Sequence[str], others: Sequence[str] = ()) -> dict[str, str]:
    """Draw a new code for each client, none of them in use already.

    Parameters
    ----------
    codes, others : sequence of str
        The studio's: of the clients who get a new one, and of those who get none.

    Returns
    -------
    dict of str to str
        Drawn by the operating system, so that nobody can work them out again.
    """
    used = {*codes, *others}
    free = [code for number in _CODES if (code := f"C{number}") not in used]
    return dict(zip(codes, SystemRandom().sample(free, len(codes)), strict=True))


def _refuse(source: Source, name: str) -> None:
    if not source.findings.provenance.locked:
        raise UserError(
            "The plan of this study was never locked, so it is no comparison to pool.",
            "Hand on its handout, which says so.",
        )
    told = find_identifiers(name)
    if len(name) > LONGEST_LABEL or any(kind != "name" for kind in told):
        raise UserError(
            f"{name!r} cannot stand on a pack.",
            f"Give a name of the studio or group, at most {LONGEST_LABEL} letters: no address, "
            "no phone number.",
        )


def _worked_on(plan: Plan, source: Source) -> list[str]:
    """Name the clients with any value of any outcome."""
    found = {
        case.client_code
        for outcome in plan.outcomes
        for case in cases(plan, source.assignments, source.records, outcome)
        if case.values.a is not None or case.values.b is not None
    }
    return [one.client_code for one in source.assignments if one.client_code in found]


def _would_tell(plan: Plan, source: Source) -> bool:
    """Tell whether rows beside the handout's averages would give away a client's values."""
    return not all(
        may_be_shown(
            [one.values for one in cases(plan, source.assignments, source.records, outcome)]
        )
        for outcome in plan.outcomes
    )


def _agreed(plan: Plan, source: Source) -> list[str]:
    yes = agreed_to_share(source.records)
    found = [code for code in _worked_on(plan, source) if code in yes]
    if not found:
        raise UserError(
            "No client of this study agreed to share her numbers.",
            "Nothing was written. Her numbers leave only with her yes.",
        )
    return found


def _of_those_who_agreed(source: Source, whole: Findings) -> Findings:
    """Analyse without the clients who did not agree; harm and flow are told of everybody.

    Averages over everybody beside the rows of those who agreed would give away the rest. Clients
    without a result stay counted as missing.
    """
    yes = agreed_to_share(source.records)
    kept = [one for one in source.assignments if one.client_code in yes]
    if len(kept) == len(source.assignments):
        return whole
    found = analyse(whole.plan, kept, source.records, Circumstances(whole.provenance))
    return replace(found, flow=whole.flow, safety=whole.safety, missing_values=whole.missing_values)


def _rows(plan: Plan, source: Source, codes: Mapping[str, str]) -> Iterator[dict[str, object]]:
    for outcome in plan.outcomes:
        for case in cases(plan, source.assignments, source.records, outcome):
            a, b = case.values.a, case.values.b
            if case.client_code not in codes:
                continue
            yield {
                "client_code": codes[case.client_code],
                "outcome": outcome.name,
                "value_a": a,
                "value_b": b,
                "difference": None if a is None or b is None else a - b,
                "a_first": case.values.a_first,
                "a_left": case.values.a_left,
            }
