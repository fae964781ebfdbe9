"""Each client's values put back into the findings, and marks by which she is found again."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from hashlib import blake2b
from math import isclose, isfinite, sqrt

from pmulab.findings import ArmSummary, ClientValues, Effect, Findings, Safety
from pmulab.packs.guards import refused
from pmulab.plan import Outcome

_COLUMNS = [
    "client_code", "outcome", "value_a", "value_b", "difference", "a_first", "a_left",
]  # fmt: skip
_FLAGS = {"yes": True, "no": False, "": None}
_CLOSE = 1e-6
PER_CENT = 100.0

Rows = Sequence[Sequence[str]]


def restored(findings: Findings, rows: Rows, where: str) -> Findings:
    """Put each client's values back, and refuse rows that do not give the findings.

    Parameters
    ----------
    findings : Findings
        Without single values.
    rows : sequence of sequence of str
        The table of differences, its header first.
    where : str
        Name of the pack, for messages.

    Returns
    -------
    Findings
        Clients numbered in the order of their fresh codes.

    Raises
    ------
    UserError
        If a value lies outside its range, a client occurs twice, or counts, averages and spread
        are not those of the findings.
    """
    if rows[0] != _COLUMNS:
        raise refused(where, "differences.csv does not have the columns of a pack.")
    _check_counts(findings.safety, where)
    numbers = {
        code: number for number, code in enumerate(sorted({row[0] for row in rows[1:]}), start=1)
    }
    by_outcome: dict[str, dict[int, ClientValues]] = defaultdict(dict)
    known = {outcome.name: outcome for outcome in findings.plan.outcomes}
    for row in rows[1:]:
        outcome, number = known.get(row[1]), numbers[row[0]]
        if outcome is None or number in by_outcome[row[1]]:
            raise refused(where, f"differences.csv: a row too many for {row[0]}.")
        by_outcome[outcome.name][number] = _client(row, number, outcome, where)
    effects = [
        _fitting(effect, tuple(by_outcome[effect.outcome.name].values()), where)
        for effect in findings.effects
    ]
    return replace(findings, primary=effects[0], secondary=tuple(effects[1:]))


def believable(findings: Findings, where: str) -> Findings:
    """Refuse findings without rows whose counts, averages and spread cannot be.

    Parameters
    ----------
    findings : Findings
    where : str
        Name of the pack, for messages.

    Returns
    -------
    Findings
        As they came.

    Raises
    ------
    UserError
        If an average lies outside its range, or a spread is wider than the range allows.
    """
    _check_counts(findings.safety, where)
    for effect in findings.effects:
        if not all(_possible(arm, effect.outcome) for arm in (effect.a, effect.b)):
            raise refused(where, f"an average or spread of {effect.outcome.name} cannot be.")
        _check_difference(effect, where)
    return findings


def _possible(arm: ArmSummary, outcome: Outcome) -> bool:
    low, high = (0.0, PER_CENT) if outcome.yes_no else (outcome.low, outcome.high)
    mean, sd = arm.mean, arm.sd
    if mean is None:
        return sd is None and arm.n == 0
    return arm.n > 0 and low <= mean <= high and (sd is None or 0 <= sd <= high - low)


def _check_difference(effect: Effect, where: str) -> None:
    """Refuse a spread of differences that no two columns of these averages and spreads have."""
    spread, a, b = effect.sd_of_differences, effect.a.sd, effect.b.sd
    if spread is None or a is None or b is None:
        return
    if not (abs(a - b) - _CLOSE * (a + b) <= spread <= (a + b) * (1 + _CLOSE)):
        raise refused(where, f"the spread of differences of {effect.outcome.name} cannot be.")


def row_marks(effects: Iterable[Effect]) -> tuple[int, ...]:
    """Give one mark a client: the same for the same values, order and side, whatever her code.

    Parameters
    ----------
    effects : iterable of Effect

    Returns
    -------
    tuple of int
        64 bits each, the same in every process.
    """
    told: dict[int, list[str]] = defaultdict(list)
    for effect in effects:
        for client in effect.clients:
            values = (client.a, client.b, client.a_first, client.a_left)
            told[client.client].append(f"{effect.outcome.name}:{values}")
    return tuple(
        int.from_bytes(blake2b("|".join(sorted(one)).encode(), digest_size=8).digest())
        for one in told.values()
    )


def _client(row: Sequence[str], number: int, outcome: Outcome, where: str) -> ClientValues:
    try:
        a, b, difference = (float(text) if text else None for text in row[2:5])
        first, left = _FLAGS[row[5]], _FLAGS[row[6]]
    except (ValueError, KeyError):
        raise refused(where, f"differences.csv: the row of {row[0]} holds no numbers.") from None
    low, high = (0.0, 1.0) if outcome.yes_no else (outcome.low, outcome.high)
    for value in (a, b):
        if value is not None and not (isfinite(value) and low <= value <= high):
            raise refused(
                where,
                f"differences.csv: {value:g} for {outcome.name} lies outside {low:g} to {high:g}.",
            )
    expected = None if a is None or b is None else a - b
    if (expected is None) != (difference is None) or abs(
        (expected or 0) - (difference or 0)
    ) > 1e-9:
        raise refused(where, "differences.csv: a difference is not A minus B.")
    return ClientValues(number, a, b, first, left)


def _fitting(effect: Effect, clients: tuple[ClientValues, ...], where: str) -> Effect:
    """Give the effect with its clients, if they make what it says."""
    a = [c.a for c in clients if c.a is not None]
    b = [c.b for c in clients if c.b is not None]
    if effect.counts is not None or effect.adjusted is not None:
        pairs = [(c.a, c.b) for c in clients if c.a is not None and c.b is not None]
        a, b = [one for one, _ in pairs], [other for _, other in pairs]
        spread = _sd([one - other for one, other in pairs])
        told = effect.sd_of_differences
        if told is not None and (spread is None or not _equal(told, spread, effect)):
            raise _unfit(effect, where)
    for values, summary in ((a, effect.a), (b, effect.b)):
        scale = 100.0 if effect.outcome.yes_no else 1.0
        mean = scale * sum(values) / len(values) if values else None
        sd = None if effect.outcome.yes_no else _sd(values)
        fits = len(values) == summary.n and all(
            (told is None) == (found is None) and (told is None or _equal(told, found, effect))
            for told, found in ((summary.mean, mean), (summary.sd, sd))
        )
        if not fits:
            raise _unfit(effect, where)
    return replace(effect, clients=clients)


def _equal(told: float, found: float | None, effect: Effect) -> bool:
    reach = max(1.0, abs(effect.outcome.high), abs(effect.outcome.low))
    return found is not None and isclose(told, found, rel_tol=_CLOSE, abs_tol=_CLOSE * reach)


def _sd(values: Sequence[float]) -> float | None:
    if len(values) < 2:
        return None
    mean = sum(values) / len(values)
    return sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))


def _unfit(effect: Effect, where: str) -> Exception:
    return refused(where, f"rows and findings of {effect.outcome.name} do not fit together.")


def _check_counts(safety: Safety, where: str) -> None:
    counts = (safety.treated, safety.visits, safety.visits_signed, safety.with_event)
    events = [event.clients for event in safety.events]
    if min(counts) < 0 or (events and min(events) < 1) or bool(events) != bool(safety.with_event):
        raise refused(where, "its counts of adverse events are impossible.")
