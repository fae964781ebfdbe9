"""Whether the assessors could tell the ways apart, and which eyelid kept more side by side."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from pmulab.estimate.blinding import bang_index, guess_test
from pmulab.findings import Counts
from pmulab.findings.scoring import Guesses
from pmulab.plan import Key as Arm
from pmulab.scoring.answers import Sheet
from pmulab.scoring.rounds import Key
from pmulab.scoring.rows import Judgement

LUCK = 0.05
"""Chance that luck alone makes one assessor or more seem to know, all of them together."""

Arms = Mapping[tuple[str, str], Arm]
"""Arm of each (client, side) whose card is open."""


def guesses(found: Sequence[Judgement], arms: Arms) -> tuple[Guesses, ...]:
    """Count right and wrong guesses, one a client, for each assessor.

    Parameters
    ----------
    found : sequence of Judgement
    arms : mapping of (client, side) to arm

    Returns
    -------
    tuple of Guesses
        A client counts as right when more of her eyelids were guessed right than wrong; guesses
        that cancel out count as no idea. First looks only.
    """
    balance: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for one in found:
        arm = arms.get((one.client_code, one.side))
        if one.look == 1 and arm is not None and one.guess:
            right = 0 if one.guess == "no_idea" else 1 if one.guess == arm else -1
            balance[one.assessor][one.client_code] += right
    many = max(1, len(balance))
    return tuple(_guesses(code, list(clients.values()), many) for code, clients in balance.items())


def _guesses(assessor: str, balances: list[int], assessors: int) -> Guesses:
    right, wrong = sum(b > 0 for b in balances), sum(b < 0 for b in balances)
    none = len(balances) - right - wrong
    test = guess_test(right, wrong)
    knew = test.p is not None and test.p * assessors <= LUCK
    return Guesses(assessor, right, wrong, none, bang_index(right, wrong, none), test, knew)


def kept_more(rounds: Sequence[tuple[Key, Sequence[Sheet]]], arms: Arms) -> Counts | None:
    """Count the clients whose eyelid of A, of B, or of neither kept more, side by side.

    Parameters
    ----------
    rounds : sequence of (Key, sheets)
    arms : mapping of (client, side) to arm

    Returns
    -------
    Counts or None
        By the majority of the assessors, first healed visit; None when nothing was compared.
    """
    votes: dict[str, int] = {}
    for key, sheets in rounds:
        for pair in key.pairs:
            on_left = arms.get((pair.client_code, pair.on_left))
            if on_left is None or pair.visit_no != _first_visit(rounds, pair.client_code):
                continue
            said = [sheet.pairs[pair.code] for sheet in sheets if pair.code in sheet.pairs]
            left = sum((one == "left") - (one == "right") for one in said)
            if said:
                votes[pair.client_code] = votes.get(pair.client_code, 0) + (
                    left if on_left == "A" else -left
                )
    if not votes:
        return None
    a, b = sum(vote > 0 for vote in votes.values()), sum(vote < 0 for vote in votes.values())
    return Counts(a, len(votes) - a - b, b)


def _first_visit(rounds: Sequence[tuple[Key, Sequence[Sheet]]], client: str) -> int:
    return min(
        pair.visit_no for key, _ in rounds for pair in key.pairs if pair.client_code == client
    )
