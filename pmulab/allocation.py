"""The schedule of sealed cards: who gets which way on which eyelid, and which eyelid comes first.

Within one person, side and working order are both drawn: each of the four sequences stands
equally often in every permuted block. Blocks of mixed size are hidden, so that the last card of
a block cannot be guessed. Between clients the arms are drawn in permuted blocks.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from hashlib import sha256
from math import ceil
from typing import Literal

import numpy as np

from pmulab.errors import UserError
from pmulab.plan import Design, Key
from pmulab.sealing import opened, sealed

Side = Literal["L", "R"]
GENERATOR = "numpy PCG64 (default_rng)"
SEQUENCES: tuple[tuple[Key, Side], ...] = (("A", "L"), ("A", "R"), ("B", "L"), ("B", "R"))
"""The four sequences of a left/right comparison: the arm on the left eyelid, the first side."""

_BLOCK_SIZES: dict[str, tuple[int, ...]] = {"within-person": (4, 8), "parallel": (4, 6)}
_SPARE_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class Slot:
    """One sealed card.

    Parameters
    ----------
    number : int
        From 1, in the order of enrolment.
    block, block_size : int
        The permuted block that the card belongs to.
    left : {'A', 'B'} or None
        Arm on the client's own left eyelid; None between clients.
    first : {'L', 'R'} or None
        Eyelid worked first; None between clients.
    arm : {'A', 'B'} or None
        Arm of both eyelids between clients; None within one person.
    """

    number: int
    block: int
    block_size: int
    left: Key | None = None
    first: Side | None = None
    arm: Key | None = None

    def arm_of(self, side: Side) -> Key:
        """Give the arm that an eyelid is allocated to.

        Parameters
        ----------
        side : {'L', 'R'}

        Returns
        -------
        {'A', 'B'}
        """
        if self.arm is not None:
            return self.arm
        if self.left is None:
            raise ValueError("a card holds an arm or a sequence")
        return self.left if side == "L" else _other(self.left)

    @property
    def ways(self) -> tuple[Key, ...]:
        """The arms that the card names, in the order of working."""
        if self.arm is not None:
            return (self.arm,)
        first = self.arm_of(self.first or "L")
        return (first, _other(first))

    @property
    def a_first(self) -> bool | None:
        """True when the eyelid of arm A is worked first; None between clients."""
        return None if self.first is None else self.arm_of(self.first) == "A"


@dataclass(frozen=True, slots=True)
class Schedule:
    """All cards of a study, in order.

    Parameters
    ----------
    design : {'within-person', 'parallel'}
    slots : sequence of Slot
    seed : int or None
        The seed that `draw` makes them from again; None when cards were written by hand.
    """

    design: Design
    slots: tuple[Slot, ...]
    seed: int | None = None

    def __len__(self) -> int:
        return len(self.slots)


@dataclass(frozen=True, slots=True)
class Assignment:
    """A card that was opened for one client.

    Parameters
    ----------
    client_code : str
    slot : Slot
    revealed : str
        Time of opening, ISO 8601.
    absent : str, default=''
        Why she never came to her session; '' when she did, or may still.
    """

    client_code: str
    slot: Slot
    revealed: str
    absent: str = ""


def draw(design: Design, planned: int, seed: int) -> Schedule:
    """Draw the schedule of a study.

    Parameters
    ----------
    design : {'within-person', 'parallel'}
    planned : int
        Clients planned, at least 2. A block ends there (rounded up to the next full block), and
        spare blocks for replacements follow.
    seed : int
        From the operating system, not from the user; the same seed gives the same schedule.

    Returns
    -------
    Schedule

    References
    ----------
    .. [1] Permuted blocks of mixed size: common practice in trials; D. G. Altman and J. M. Bland
       (1999), How to randomise, BMJ 319:703-704 (citation from memory).
    """
    rng = np.random.default_rng(seed)
    unit = 4 if design == "within-person" else 2
    main = unit * ceil(planned / unit)
    spare = unit * ceil(max(planned * _SPARE_SHARE, unit) / unit)
    sizes = [*_block_sizes(rng, design, main), *_block_sizes(rng, design, spare)]
    slots: list[Slot] = []
    for block, size in enumerate(sizes, start=1):
        slots.extend(_block(rng, design, block, size, first_number=len(slots) + 1))
    return Schedule(design, tuple(slots), seed)


def seal(schedule: Schedule) -> str:
    """Write the schedule so that nobody reads it by accident.

    Parameters
    ----------
    schedule : Schedule

    Returns
    -------
    str
        CSV text with the columns slot, sealed, fingerprint. Slot 0 keeps seed and generator.
        The encoding hides a card from a glance, not from somebody set on reading it.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["slot", "sealed", "fingerprint"])
    head = {"design": schedule.design, "seed": schedule.seed, "generator": GENERATOR}
    writer.writerow([0, *sealed(head, "")])
    salt = sha256(str(schedule.seed).encode()).hexdigest()
    for slot in schedule.slots:
        writer.writerow([slot.number, *sealed(asdict(slot), f"{salt}:{slot.number}")])
    return out.getvalue()


def unseal(text: str, where: str = "allocation.csv") -> Schedule:
    """Read a sealed schedule back, checking every card against its fingerprint.

    Parameters
    ----------
    text : str
        As `seal` wrote it.
    where : str
        File name used in messages.

    Returns
    -------
    Schedule

    Raises
    ------
    UserError
        If a card is missing, damaged or changed.
    """
    try:
        rows = list(csv.DictReader(io.StringIO(text)))
    except csv.Error:
        raise UserError(f"{where} cannot be read as a table.", _SEALED_REMEDY) from None
    cards = [
        opened(row, f"{where}, line {line}", _SEALED_REMEDY)
        for line, row in enumerate(rows, start=2)
    ]
    if not cards or cards[0].get("design") not in _BLOCK_SIZES:
        raise UserError(f"{where} holds no sealed cards.", _SEALED_REMEDY)
    numbers = [card.get("number") for card in cards[1:]]
    if numbers != list(range(1, len(numbers) + 1)):
        raise UserError(f"{where}: cards are missing or out of order.", _SEALED_REMEDY)
    head = cards[0]
    try:
        slots = tuple(Slot(**card) for card in cards[1:])
    except TypeError:
        raise UserError(f"{where}: a card was changed.", _SEALED_REMEDY) from None
    return Schedule(head["design"], slots, head.get("seed"))


def card_words(slot: Slot, label_a: str, label_b: str) -> str:
    """Say one opened card in plain words.

    Parameters
    ----------
    slot : Slot
    label_a, label_b : str
        Names of the two arms.

    Returns
    -------
    str
    """
    labels = {"A": label_a, "B": label_b}
    if slot.arm is not None:
        return f"Both eyelids: {labels[slot.arm]}."
    first: Side = "L" if slot.first == "L" else "R"
    second: Side = "R" if first == "L" else "L"
    names = {"L": "LEFT", "R": "RIGHT"}
    return (
        f"First the client's own {names[first]} eyelid: {labels[slot.arm_of(first)]}. "
        f"Then the client's own {names[second]} eyelid: {labels[slot.arm_of(second)]}."
    )


_SEALED_REMEDY = (
    "Put back the allocation.csv that was written when the plan was locked; "
    "never open it in a spreadsheet and save it."
)


def _other(key: Key) -> Key:
    return "B" if key == "A" else "A"


def _block_sizes(rng: np.random.Generator, design: Design, total: int) -> Iterator[int]:
    smallest = min(_BLOCK_SIZES[design])
    while total:
        fits = [s for s in _BLOCK_SIZES[design] if total - s == 0 or total - s >= smallest]
        size = int(rng.choice(fits)) if fits else total
        yield size
        total -= size


def _block(
    rng: np.random.Generator, design: Design, block: int, size: int, first_number: int
) -> Iterator[Slot]:
    if design == "within-person":
        cards = list(SEQUENCES) * (size // 4)
        for place, card in enumerate(rng.permutation(len(cards))):
            left, first = cards[card]
            yield Slot(first_number + place, block, size, left=left, first=first)
        return
    arms: list[Key] = ["A", "B"] * (size // 2)
    for place, card in enumerate(rng.permutation(len(arms))):
        yield Slot(first_number + place, block, size, arm=arms[card])
