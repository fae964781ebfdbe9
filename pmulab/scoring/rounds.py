"""A round: which picture is shown when, under which code, and what only the sealed key knows.

Codes, order, repeats, and which eyelid stands on the left of a side-by-side picture are drawn. No
picture is written twice to the letter: each showing has a width of its own, so that a repeated
photo cannot be found by comparing bytes. Whoever compares pictures point by point still can, as
can an eye that remembers; a round blinds honest assessors.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import groupby
from math import ceil
from typing import Any

import numpy as np

from pmulab.allocation import GENERATOR, Side
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.scoring.photos import Photo
from pmulab.scoring.questions import questions
from pmulab.sealing import opened, sealed

FORMAT = 1
"""Version of a round, its page and its answers that this release writes and reads."""
KIND = "pmulab scoring round"
LONGEST = 1000
_VARIED = 24
_TRIES = 500
_DAMAGED = "Put back the key that was written when the round was prepared. Nothing was changed."


@dataclass(frozen=True, slots=True)
class Showing:
    """One picture that is scored by itself.

    Parameters
    ----------
    code : str
        What the assessor sees of it.
    client_code : str
    side : {'L', 'R'}
    visit_no : int
    day : str
        ISO 8601 date of the photo.
    look : {1, 2}
        2 for a photo that came before in the same round.
    mirrored : bool
        True when left and right were swapped.
    longest : int
        Longer side of the picture in pixels, its own for each showing.
    """

    code: str
    client_code: str
    side: Side
    visit_no: int
    day: str
    look: int
    mirrored: bool
    longest: int

    @property
    def photo(self) -> tuple[str, Side, int]:
        """The photo shown: client, side and visit."""
        return self.client_code, self.side, self.visit_no


@dataclass(frozen=True, slots=True)
class Pair:
    """Both eyelids of one client side by side.

    Parameters
    ----------
    code : str
    client_code : str
    visit_no : int
    on_left : {'L', 'R'}
        The client's own side that stands on the left.
    mirrored : sequence of bool
        Of the left and the right picture.
    longest : sequence of int
        Longer sides of the left and the right picture in pixels.
    """

    code: str
    client_code: str
    visit_no: int
    on_left: Side
    mirrored: tuple[bool, bool]
    longest: tuple[int, int]

    @property
    def sides(self) -> tuple[Side, Side]:
        """The client's own sides, as they stand from left to right."""
        return ("L", "R") if self.on_left == "L" else ("R", "L")


@dataclass(frozen=True, slots=True)
class Key:
    """What links the codes of a round with eyelids.

    Parameters
    ----------
    number : int
        Of the round within its study, from 1.
    id : str
        Drawn; ties answers to this round.
    seed : int
    showings : sequence of Showing
        In the order of the page.
    pairs : sequence of Pair
        In the order of the page.
    """

    number: int
    id: str
    seed: int
    showings: tuple[Showing, ...]
    pairs: tuple[Pair, ...]


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


def seal_key(key: Key, secret: str) -> str:
    """Write a key so that it cannot be read without its secret.

    Parameters
    ----------
    key : Key
    secret : str
        Kept in the journal of the study, never beside the key.

    Returns
    -------
    str
        JSON.
    """
    content = {"generator": GENERATOR, "key": json.dumps(asdict(key))}
    text, fingerprint = sealed(content, secret, secret)
    return json.dumps({"format": FORMAT, "sealed": text, "fingerprint": fingerprint}) + "\n"


def open_key(text: str, secret: str, where: str = "key.json") -> Key:
    """Read a sealed key back.

    Parameters
    ----------
    text : str
        As `seal_key` wrote it.
    secret : str
    where : str
        File name used in messages.

    Returns
    -------
    Key

    Raises
    ------
    UserError
        If it was changed or damaged, or the secret is another one.
    """
    try:
        row = json.loads(text)
        data = json.loads(opened(row, where, _DAMAGED, secret)["key"])
        showings = tuple(Showing(**one) for one in data.pop("showings"))
        pairs = tuple(
            Pair(**{**one, "mirrored": tuple(one["mirrored"]), "longest": tuple(one["longest"])})
            for one in data.pop("pairs")
        )
        return Key(**data, showings=showings, pairs=pairs)
    except (ValueError, TypeError, KeyError, RecursionError):
        raise UserError(f"{where} was changed or damaged.", _DAMAGED) from None


def public_round(key: Key, plan: Plan) -> dict[str, Any]:
    """Give everything of a round that an assessor may see.

    Parameters
    ----------
    key : Key
    plan : Plan

    Returns
    -------
    dict
        Codes in the order of the page, questions and the names of the two ways; nothing that
        tells an eyelid, a client, an arm or a repeat.
    """
    return {
        "format": FORMAT,
        "kind": KIND,
        "round": key.id,
        "number": key.number,
        "title": plan.study.title,
        "invented": plan.study.invented,
        "questions": [question.to_dict() for question in questions(plan)],
        "ways": {"A": plan.arms.A.label, "B": plan.arms.B.label},
        "photos": [showing.code for showing in key.showings],
        "pairs": [pair.code for pair in key.pairs],
    }


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
