"""A round: what only its sealed key knows, and what an assessor may see."""

import json
from dataclasses import asdict, dataclass
from typing import Any

from pmulab.allocation import GENERATOR, Side
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.scoring.questions import questions
from pmulab.sealing import opened, sealed

FORMAT = 1
"""Version of a round, its page and its answers that this release writes and reads."""
KIND = "pmulab scoring round"
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
