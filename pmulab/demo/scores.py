"""Invented answers of three assessors to the demonstration's scoring round.

Assessors differ from the typed result by amounts that cancel out over the three, so that the
averages of the demonstration stay as they are. On evenness they are made to disagree.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from pmulab.demo.cases import Invented
from pmulab.scoring.answers import FORMAT, KIND
from pmulab.scoring.rounds import Key, Pair, Showing

ASSESSORS = ("R1", "R2", "R3")
SEED = 20260316
_AGREE, _REPEAT = 0.8, 0.8
_Kept = Mapping[tuple[str, str], int]


def kept_by_eyelid(cases: Sequence[Invented]) -> dict[tuple[str, str], int]:
    """Give the segments kept of every eyelid that was seen healed, by (client, side)."""
    return {
        (case.client_code, side): int(case.measured["kept", case.arm_of(side)])
        for case in cases
        if case.seen
        for side in ("L", "R")
    }  # fmt: skip


def invented_answers(key: Key, cases: Sequence[Invented]) -> dict[str, str]:
    """Write the answer files of the round.

    Parameters
    ----------
    key : Key
    cases : sequence of Invented

    Returns
    -------
    dict of assessor code to JSON
    """
    rng = np.random.default_rng(SEED)
    kept = kept_by_eyelid(cases)
    off = {eyelid: _off(rng) for eyelid in sorted(kept)}
    found = {}
    for number, assessor in enumerate(ASSESSORS):
        own = {eyelid: kept[eyelid] + off[eyelid][number] for eyelid in kept}
        found[assessor] = json.dumps(_answers(rng, key, own, kept, assessor), indent=1) + "\n"
    return found


def _off(rng: np.random.Generator) -> list[int]:
    """Draw how far three assessors lie from the typed result, adding up to nothing."""
    if rng.random() < _AGREE:
        return [0, 0, 0]
    return [int(one) for one in rng.permutation([-1, 0, 1])]


def _answers(
    rng: np.random.Generator, key: Key, own: _Kept, typed: _Kept, assessor: str
) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "kind": KIND,
        "round": key.id,
        "number": key.number,
        "assessor": assessor,
        "operator": False,
        "photos": {one.code: _photo(rng, one, own, typed) for one in key.showings},
        "pairs": {one.code: _pair(one, own) for one in key.pairs},
        "guesses": {
            one.code: str(rng.choice(["A", "B", "no_idea"], p=[0.2, 0.2, 0.6]))
            for one in key.showings
        },
    }


def _photo(rng: np.random.Generator, one: Showing, own: _Kept, typed: _Kept) -> dict[str, Any]:
    kept, known = own[one.client_code, one.side], typed[one.client_code, one.side]
    if one.look == 2 and rng.random() > _REPEAT:
        kept = max(0, min(10, kept + int(rng.choice([-1, 1]))))
    if rng.random() > _REPEAT:
        known = kept
    parts = sorted(int(part) + 1 for part in rng.permutation(10)[:kept])
    return {
        "segments_kept": parts,
        "retention_grade": "4" if known == 10 else "3" if known >= 8 else "2",
        "evenness_grade": str(int(rng.integers(1, 5))),
        "migration": "no",
        "colour_shift": "none",
        "touchup_needed": "yes" if known <= 7 else "no",
    }


def _pair(one: Pair, own: _Kept) -> str:
    left, right = (own[one.client_code, side] for side in one.sides)
    return "left" if left > right else "right" if right > left else "same"
