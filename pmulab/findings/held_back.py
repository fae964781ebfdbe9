"""Which numbers may leave the studio without giving away those of clients who did not agree.

Averages are of everybody, so that nobody can better a finding by leaving clients out. Whatever can
be taken away from them, value by value or count by count, is therefore kept in the studio where it
would leave over the value of a client who did not agree.
"""

from collections.abc import Sequence
from dataclasses import replace

from pmulab.findings.comparison import (
    ClientValues,
    Counts,
    Effect,
    Missing,
    better_counts,
)
from pmulab.findings.whole import Findings
from pmulab.plan import Outcome

FEWEST_HELD_BACK = 3
"""Beside an average of everybody, the values of all but one or two clients tell theirs."""
WHY_STAYS = "why stays in the studio, as not all of them agreed to share"
"""Stands for the reasons of clients without a result, one of whom did not agree."""


def may_be_shown(clients: Sequence[ClientValues]) -> bool:
    """Tell whether single values of a comparison may stand beside its averages.

    Parameters
    ----------
    clients : sequence of ClientValues
        Everybody in the comparison, with `shared` False for those who hold theirs back.

    Returns
    -------
    bool
        True when nobody, or three clients at least who are not all alike, are held back of every
        average: of clients who are all alike an average tells each.
    """
    return all(
        not held or (len(held) >= FEWEST_HELD_BACK and not _alike(held)) for held in _held(clients)
    )


def shown(effect: Effect) -> Effect:
    """Keep what may be shown of one outcome.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    Effect
        With the single values of clients who agreed to it; with none where their values would
        give away those of others. How many did better with which way is counted over those who
        are shown; None where nobody is. Of clients without a result the reasons are kept only if
        all of them agreed. Averages stay as they are.
    """
    kept = tuple(one for one in effect.clients if one.shared)
    if len(kept) == len(effect.clients):
        return effect
    allowed = may_be_shown(effect.clients)
    if any(_held(effect.clients)):
        effect = _uncounted(effect, kept if allowed else ())
    return replace(
        effect,
        clients=kept if allowed else (),
        missing=_missing(effect.missing) if _hidden_loss(effect) else effect.missing,
    )


def shareable(findings: Findings) -> Findings:
    """Keep what may leave the studio of everything that was found.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    Findings
        Every outcome as in `shown`. Reasons for losses stay in the studio where one of those who
        were lost did not agree, and so does the count of clients who kept more side by side.
        Averages, harm, and how many clients came how far stay as they are.
    """
    effects = findings.effects
    if all(one.shared for effect in effects for one in effect.clients):
        return findings
    flow, scoring = findings.flow, findings.scoring
    if flow.lost_reasons and any(map(_hidden_loss, effects)):
        flow = replace(flow, lost_reasons=(WHY_STAYS,), unseen_reasons=None)
    primary, *others = map(shown, effects)
    return replace(
        findings,
        flow=flow,
        primary=primary,
        secondary=tuple(others),
        scoring=replace(scoring, kept_more=None) if scoring else None,
    )


def all_held_back(effect: Effect) -> bool:
    """Tell whether no single value is there although clients were compared."""
    return not effect.clients and bool(effect.a.n or effect.b.n)


def _groups(clients: Sequence[ClientValues]) -> list[list[ClientValues]]:
    """Give the clients of each average: all with both values, or those of either way."""
    pairs = [one for one in clients if one.a is not None and one.b is not None]
    return [pairs] if pairs else [
        [one for one in clients if one.a is not None],
        [one for one in clients if one.b is not None],
    ]  # fmt: skip


def _held(clients: Sequence[ClientValues]) -> list[list[ClientValues]]:
    return [[one for one in group if not one.shared] for group in _groups(clients)]


def _alike(held: Sequence[ClientValues]) -> bool:
    """Tell whether all have one value under a way."""
    ways = ({one.a for one in held} - {None}, {one.b for one in held} - {None})
    return any(len(values) == 1 for values in ways)


def _hidden_loss(effect: Effect) -> bool:
    """Tell whether a client without a result did not agree."""
    compared = {one.client for group in _groups(effect.clients) for one in group}
    return any(not one.shared and one.client not in compared for one in effect.clients)


def _missing(missing: Missing) -> Missing:
    return replace(missing, reasons=(WHY_STAYS,) if missing.reasons else ())


def _uncounted(effect: Effect, kept: Sequence[ClientValues]) -> Effect:
    """Count over those who are shown; drop what counts under another name.

    The chance that a client is higher, and the tests beside the one shown, are worked out from the
    same counts.
    """
    counts = _counted(kept, effect.outcome) if kept and effect.counts is not None else None
    return replace(effect, counts=counts, chance_a_higher=None, other_tests={})


def _counted(clients: Sequence[ClientValues], outcome: Outcome) -> Counts:
    """Count who did better with which way."""
    pairs = [(one.a, one.b) for one in clients if one.a is not None and one.b is not None]
    return better_counts([a for a, _ in pairs], [b for _, b in pairs], outcome)
