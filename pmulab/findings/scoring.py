"""How the blind scoring went: whether looks and assessors agree, and whether they knew the ways."""

from dataclasses import dataclass
from typing import Literal

from pmulab.estimate.results import Estimate, Test
from pmulab.findings.comparison import Counts, closed

Reading = Literal["good", "poor", "open"]


@closed
@dataclass(frozen=True, slots=True)
class Agreement:
    """Agreement on one measure.

    Parameters
    ----------
    name, title : str
        Column of the healed table, and the measure in plain words.
    kind : {'within', 'between'}
        Two looks of one assessor at a photo, or the first looks of several assessors.
    exact : Estimate
        Share of pairs of answers that are the same.
    near : Estimate or None
        Share within one grade; None where values are few words.
    kappa : Estimate
        Cohen's kappa, its weights named; for more than two assessors the mean over their pairs.
    icc : Estimate or None
        Intraclass correlation of a single rating, absolute agreement, ICC(A,1).
    change : Estimate or None
        Smallest detectable change of one eyelid, in the measure's unit.
    reading : {'good', 'poor', 'open'}
        Whether it is enough to read the measure; 'open' where it cannot be told.
    """

    name: str
    title: str
    kind: Literal["within", "between"]
    exact: Estimate
    near: Estimate | None
    kappa: Estimate
    icc: Estimate | None
    change: Estimate | None
    reading: Reading


@closed
@dataclass(frozen=True, slots=True)
class Guesses:
    """What one assessor guessed, one answer a client.

    Parameters
    ----------
    assessor : str
    right, wrong, no_idea : int
        Clients.
    index : Estimate
        Right minus wrong guesses, per client: 0 is no better than tossing a coin.
    test : Test
        Kept for checking, never shown.
    knew : bool
        True when guesses were right more often than luck explains, all assessors considered.
    """

    assessor: str
    right: int
    wrong: int
    no_idea: int
    index: Estimate
    test: Test
    knew: bool


@closed
@dataclass(frozen=True, slots=True)
class Scoring:
    """Every blind scoring round of a study.

    Parameters
    ----------
    rounds, clients, photos, repeats : int
        Rounds whose key was opened; clients and photos in them; photos that were shown twice.
    assessors, operators : sequence of str
        Codes; those of them who did the work themselves.
    agreements : sequence of Agreement
    guesses : sequence of Guesses
        Empty while no card of these clients is open.
    kept_more : Counts or None
        Side by side: clients whose eyelid of A, of B, or neither kept more.
    late : bool
        True when answers came in after the arms had been compared.
    """

    rounds: int
    clients: int
    photos: int
    repeats: int
    assessors: tuple[str, ...]
    operators: tuple[str, ...]
    agreements: tuple[Agreement, ...]
    guesses: tuple[Guesses, ...] = ()
    kept_more: Counts | None = None
    late: bool = False

    @property
    def told_apart(self) -> bool:
        """True when an assessor could tell the ways apart."""
        return any(one.knew for one in self.guesses)

    def poor(self, name: str = "") -> tuple[Agreement, ...]:
        """Give the measures (or one of them) on which agreement was poor.

        Parameters
        ----------
        name : str, default=""
            Column of the healed table.
        """
        return tuple(
            one for one in self.agreements if one.reading == "poor" and name in ("", one.name)
        )
