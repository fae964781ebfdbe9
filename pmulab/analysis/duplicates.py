"""The same study twice, or the same clients in two studies: found by the rows, told, kept once."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

from pmulab.counting import counted
from pmulab.findings.pooled import Reported, SetAside

FEWEST_ALIKE = 4
"""Fewer equal rows than this may be chance."""
MOST_HOLDERS = 20
"""A row that more packs than this hold tells nobody apart."""
_SIGNS = 6


def told_apart(studies: Sequence[tuple[str, str]]) -> list[str]:
    """Let studies of one name differ in it, by the first signs of their fingerprints.

    Parameters
    ----------
    studies : sequence of (str, str)
        Name and fingerprint of each. Two studios that begin from one ready question give their
        studies the same short name.

    Returns
    -------
    list of str
        Names in the same order; a name that only one study has stays.
    """
    holders: dict[str, set[str]] = defaultdict(set)
    for name, study in studies:
        holders[name].add(study)
    return [
        f"{name} ({study[:_SIGNS]})" if len(holders[name]) > 1 else name for name, study in studies
    ]


def once_each(packs: Sequence[Reported]) -> tuple[list[Reported], list[SetAside], list[str]]:
    """Keep each study and each set of clients once.

    Parameters
    ----------
    packs : sequence of Reported

    Returns
    -------
    tuple of (list of Reported, list of SetAside, list of str)
        Those that are kept, in their order; those that are not, with the reason; and what a
        reader should know of the rest.
    """
    aside: dict[int, str] = {}
    for indices in _same_study(packs):
        for index in indices[1:]:
            aside[index] = f"the same study as {_named(packs[indices[0]])}; the latest counts"
    flags: list[str] = []
    for first, second, alike in _alike(packs):
        if first in aside or second in aside:
            continue
        better, worse = sorted((first, second), key=lambda i: _rank(packs[i]), reverse=True)
        if 2 * alike >= min(_clients(packs[first]), _clients(packs[second])):
            aside[worse] = (
                f"{alike} of its clients have the same values as in {_named(packs[better])}: "
                "taken for the same clients"
            )
        else:
            flags.append(
                f"{counted(alike, 'client')} of {packs[first].label} and {packs[second].label} "
                "have the same values: ask whether they were treated in both."
            )
    kept = [pack for index, pack in enumerate(packs) if index not in aside]
    told = [SetAside(packs[index].label, why) for index, why in sorted(aside.items())]
    return kept, told, [*flags, *_same_plan(kept)]


def _same_study(packs: Sequence[Reported]) -> Iterator[list[int]]:
    """Give the places of each study that came more than once, the one to keep first."""
    found: dict[str, list[int]] = defaultdict(list)
    for index, pack in enumerate(packs):
        found[pack.study].append(index)
    for indices in found.values():
        if len(indices) > 1:
            yield sorted(indices, key=lambda index: _rank(packs[index]), reverse=True)


def _rank(pack: Reported) -> tuple[str, int]:
    """Give what decides which of two packs is the latest complete one."""
    return pack.made, pack.findings.primary.difference.n


def _alike(packs: Sequence[Reported]) -> Iterator[tuple[int, int, int]]:
    """Give pairs of packs with many equal rows, and how many."""
    holders: dict[int, list[int]] = defaultdict(list)
    for index, pack in enumerate(packs):
        for row in set(pack.rows):
            holders[row].append(index)
    shared: Counter[tuple[int, int]] = Counter()
    for indices in holders.values():
        if 1 < len(indices) <= MOST_HOLDERS:
            shared.update(combinations(indices, 2))
    for (first, second), alike in sorted(shared.items()):
        if alike >= FEWEST_ALIKE:
            yield first, second, alike


def _clients(pack: Reported) -> int:
    return len(pack.rows)


def _same_plan(packs: Sequence[Reported]) -> Iterator[str]:
    labels: dict[str, list[str]] = defaultdict(list)
    for pack in packs:
        labels[pack.findings.provenance.plan].append(pack.label)
    for names in labels.values():
        if len(names) > 1:
            shown = ", ".join(names[:5]) + (f" and {len(names) - 5} more" if names[5:] else "")
            yield f"{shown} carry the same plan, with cards of their own: taken as studies apart."


def _named(pack: Reported) -> str:
    return f"{pack.label} ({pack.source})" if pack.source else pack.label
