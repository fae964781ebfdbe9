"""What was found about one outcome."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from pydantic import ConfigDict, with_config

from pmulab.estimate.results import Estimate, Test
from pmulab.plan import Outcome

Case = Literal["G1", "G2", "G3", "G4", "G5", "G6", "G7", "G8"]
FEWEST_CLIENTS = 6
"""Fewer clients of a way with a result are described, never compared."""
Certainty = Literal["fairly sure", "somewhat sure", "not sure", "very unsure"]
closed = with_config(ConfigDict(extra="forbid", allow_inf_nan=False))


@closed
@dataclass(frozen=True, slots=True)
class ClientValues:
    """One client's two values of an outcome (or one, between clients), in the outcome's unit.

    Parameters
    ----------
    client : int
        Running number in the order of enrolment; never the client's code.
    a, b : float or None
        Value under arm A and arm B; None when not seen or when the client had the other arm.
    a_first, a_left : bool or None
        Whether arm A's eyelid was worked first, and whether it was the left one.
    shared : bool, default=True
        False when she did not agree that her numbers leave the studio: her values count in every
        average, and are not drawn on anything that is handed on.
    """

    client: int
    a: float | None
    b: float | None
    a_first: bool | None = None
    a_left: bool | None = None
    shared: bool = True


@closed
@dataclass(frozen=True, slots=True)
class ArmSummary:
    """Plain description of one arm's values.

    Parameters
    ----------
    n : int
        Clients with a value.
    mean, sd : float or None
        In the outcome's unit (yes/no: share of 'yes' in per cent; sd None).
    """

    n: int
    mean: float | None
    sd: float | None


@closed
@dataclass(frozen=True, slots=True)
class Counts:
    """How many clients did better under which arm; None between clients."""

    a_better: int
    equal: int
    b_better: int

    @property
    def n(self) -> int:
        """All clients together."""
        return self.a_better + self.equal + self.b_better


def better_counts(a: Sequence[float], b: Sequence[float], outcome: Outcome) -> Counts:
    """Count the clients who did better with either way.

    Parameters
    ----------
    a, b : sequence of float
        The same clients in the same order.
    outcome : Outcome
        Says which direction is better.

    Returns
    -------
    Counts
    """
    from pmulab.estimate import paired

    found = paired.counts(a, b)
    if outcome.better == "higher":
        return Counts(found.higher, found.equal, found.lower)
    return Counts(found.lower, found.equal, found.higher)


@closed
@dataclass(frozen=True, slots=True)
class Adjusted:
    """The difference freed of working order and side, with what order and side did.

    Parameters
    ----------
    difference : Estimate
        A minus B.
    order, side : Estimate
        What the eyelid worked first shows over the second one, and the left over the right.
    """

    difference: Estimate
    order: Estimate
    side: Estimate


@closed
@dataclass(frozen=True, slots=True)
class Missing:
    """What the clients who were not seen could have changed.

    Parameters
    ----------
    n : int
        Clients without a usable value.
    reasons : sequence of str
        Why, one short phrase each with its count.
    limit : float or None
        The largest believable difference put in for them, in the unit.
    low, high : Estimate or None
        The estimate if all of them had minus or plus that difference.
    flips : bool
        True when the verdict depends on them.
    """

    n: int
    reasons: tuple[str, ...] = ()
    limit: float | None = None
    low: Estimate | None = None
    high: Estimate | None = None
    flips: bool = False


@closed
@dataclass(frozen=True, slots=True)
class Verdict:
    """How the interval reads against the smallest worthwhile difference.

    Parameters
    ----------
    case : {'G1', ..., 'G8'}
        The case that decides the words.
    favours : {'A', 'B', ''}
        The arm that the cautious end of the interval favours; '' when none.
    certainty : str
        One of four words.
    reasons : sequence of str
        Why no more certain than that.
    depends_on : str
        For G8: what the answer depends on.
    clients_needed : int or None
        For G4: clients whose results a new study would need to see a true difference of just the
        smallest worthwhile size four times in five.
    clients_to_enrol : int or None
        The same with the losses that the plan expects.
    harm_first : bool
        True where harm was recorded that a physician has to judge before any difference counts.
    """

    case: Case
    favours: Literal["A", "B", ""]
    certainty: Certainty
    reasons: tuple[str, ...]
    depends_on: str = ""
    clients_needed: int | None = None
    clients_to_enrol: int | None = None
    harm_first: bool = False


@closed
@dataclass(frozen=True, slots=True)
class Judging:
    """Who judged an outcome, as it was done.

    Parameters
    ----------
    eyelids : int
        Eyelids that have a value.
    knew : int
        Of these, the ones judged by someone who knew which way was which: all that are recorded
        on the day, where whoever worked writes them down.
    """

    eyelids: int
    knew: int


@closed
@dataclass(frozen=True, slots=True)
class Effect:
    """One outcome, compared between the arms.

    Parameters
    ----------
    outcome : Outcome
    role : {'primary', 'exploratory'}
    clients : sequence of ClientValues
    a, b : ArmSummary
    difference : Estimate
        A minus B, with the interval that is read first.
    typical, standardised, chance_a_higher : Estimate or None
        Typical (Hodges-Lehmann) difference, standardised difference, and the chance that a
        client's value is higher under A.
    counts : Counts or None
    adjusted : Adjusted or None
        Within one person only.
    correlation : float or None
        Between the two eyelids of a client.
    sd_of_differences : float or None
    test : Test or None
        The one p-value shown, for the primary outcome only.
    other_forms : mapping of str to Estimate
        Other intervals of the same difference, by name ('t', 'bootstrap', ...).
    other_tests : mapping of str to Test
        Other tests by name ('t', 'sign_flip', ...); kept for checking, never shown.
    missing : Missing
    verdict : Verdict
    judging : Judging or None
        None where it was not counted.
    """

    outcome: Outcome
    role: Literal["primary", "exploratory"]
    clients: tuple[ClientValues, ...]
    a: ArmSummary
    b: ArmSummary
    difference: Estimate
    missing: Missing
    verdict: Verdict
    typical: Estimate | None = None
    standardised: Estimate | None = None
    chance_a_higher: Estimate | None = None
    counts: Counts | None = None
    adjusted: Adjusted | None = None
    correlation: float | None = None
    sd_of_differences: float | None = None
    test: Test | None = None
    other_forms: Mapping[str, Estimate] = field(default_factory=dict)
    other_tests: Mapping[str, Test] = field(default_factory=dict)
    judging: Judging | None = None

    @property
    def typical_leads(self) -> bool:
        """True where the typical difference comes first, because the mean leans on few clients."""
        return self.typical is not None and self.difference.method == self.typical.method
