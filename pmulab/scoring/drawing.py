"""Draw a round: which picture is shown when, under which code, mirrored, beside which other.

No picture is written twice to the letter: each showing has a width of its own, so that a repeated
photo cannot be found by comparing bytes. Whoever compares pictures point by point still can, as
can an eye that remembers; a round blinds honest assessors.
"""

from collections.abc import Sequence
from dataclasses import asdict
from itertools import groupby
from math import ceil

import numpy as np

from pmulab.allocation import Side
from pmulab.errors import UserError
from pmulab.scoring.photos import Photo
from pmulab.scoring.rounds import Key, Pair, Showing

LONGEST = 1000
_VARIED = 24
_TRIES = 500


def draw_round(
    photos: Sequence[Photo],
    number: int,
    seed: int,
    *,
    repeats: float = 0.2,
    mirror: bool = True,
    side_by_side: bool = True,
) -> Key:
    """Draw codes, order, repeats and places of a round.

    Parameters
    ----------
    photos : sequence of Photo
        One for each eyelid and visit.
    number : int
        Of the round.
    seed : int
        From the operating system; the same seed gives the same round.
    repeats : float, default=0.2
        Share of the photos shown twice, 0 to 1.
    mirror : bool, default=True
        Swap left and right in photos of left eyelids, so that the side cannot be told.
    side_by_side : bool, default=True
        Also show both eyelids of a client together.

    Returns
    -------
    Key

    Raises
    ------
    UserError
        If there is no photo, or the share lies outside 0 to 1.
    """
    if not photos:
        raise UserError("There is no photo to score.", "Put healed photos in first.")
    if not 0 <= repeats <= 1:
        raise UserError(
            f"A share of {repeats:g} repeated photos cannot be.", "Give 0 to 1, such as 0.2."
        )
    rng = np.random.default_rng(seed)
    ordered = sorted(photos, key=lambda photo: photo.key)
    again = rng.permutation(len(ordered))[: ceil(len(ordered) * repeats - 1e-9)]
    order = _mixed(rng, [*range(len(ordered)), *(int(place) for place in again)])
    both = _both(ordered) if side_by_side else []
    codes = _codes(rng, len(order) + len(both))
    seen: set[int] = set()
    showings = []
    for code, place in zip(codes, order, strict=False):
        photo, look = ordered[place], 2 if place in seen else 1
        seen.add(place)
        own = mirror and photo.side == "L"
        key = (*photo.key, photo.day, look, own, _width(rng))
        showings.append(Showing(f"P{code}", *key))
    pairs = tuple(
        _pair(rng, f"D{codes[len(order) + n]}", both[place][0], mirror)
        for n, place in enumerate(rng.permutation(len(both)))
    )
    return Key(number, rng.bytes(8).hex(), seed, _apart(showings), pairs)


def _codes(rng: np.random.Generator, count: int) -> list[str]:
    """Draw codes of digits only, so that none spells a word."""
    return [f"{code:05d}" for code in rng.choice(100_000, size=count, replace=False)]


def _width(rng: np.random.Generator) -> int:
    return int(LONGEST - rng.integers(_VARIED))


def _apart(showings: list[Showing]) -> tuple[Showing, ...]:
    """Give the two showings of a photo different widths."""
    first: dict[tuple[str, Side, int], int] = {}
    told = []
    for one in showings:
        before = first.setdefault(one.photo, one.longest)
        same = one.look == 2 and before == one.longest
        told.append(Showing(**{**asdict(one), "longest": one.longest - 1}) if same else one)
    return tuple(told)


def _mixed(rng: np.random.Generator, places: list[int]) -> list[int]:
    """Mix until the two showings of a photo stand well apart; else keep the widest of the tries.

    Every order that keeps the distance is equally likely, so that the order tells nothing more.
    """
    count = len(set(places))
    wanted = min(5, max(1, count // 3))
    best, widest = list(places), -1
    for _ in range(_TRIES):
        order = [int(place) for place in rng.permutation(places)]
        gap = _closest(order)
        if gap >= wanted:
            return order
        if gap > widest:
            best, widest = order, gap
    return best


def _closest(order: list[int]) -> int:
    """Give the smallest distance between two showings of a photo."""
    last: dict[int, int] = {}
    gaps = [len(order)]
    for position, place in enumerate(order):
        if place in last:
            gaps.append(position - last[place])
        last[place] = position
    return min(gaps)


def _both(photos: list[Photo]) -> list[tuple[Photo, Photo]]:
    """Give the clients and visits with photos of both eyelids."""
    groups = groupby(
        sorted(photos, key=lambda photo: (photo.client_code, photo.visit_no, photo.side)),
        key=lambda photo: (photo.client_code, photo.visit_no),
    )
    found = [list(group) for _, group in groups]
    return [(group[0], group[1]) for group in found if len(group) == 2]


def _pair(rng: np.random.Generator, code: str, one: Photo, mirror: bool) -> Pair:
    on_left: Side = "L" if rng.random() < 0.5 else "R"
    sides: tuple[Side, Side] = ("L", "R") if on_left == "L" else ("R", "L")
    return Pair(
        code,
        one.client_code,
        one.visit_no,
        on_left,
        (mirror and sides[0] == "L", mirror and sides[1] == "L"),
        (_width(rng) - _VARIED, _width(rng) - _VARIED),
    )
