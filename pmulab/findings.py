"""What an analysis found: data only, with method and version, no computing.

`findings.json` is this dataclass written down; handout, slides and pooled reports read it back.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from functools import cache
from typing import Any, Literal

from pydantic import ConfigDict, TypeAdapter, ValidationError, with_config

from pmulab.errors import UserError
from pmulab.estimate.results import Estimate, Interval, Test
from pmulab.plan import Change, Outcome, Plan

FORMAT = 1
"""Version of findings.json that this release writes and reads."""

Case = Literal["G1", "G2", "G3", "G4", "G5", "G6", "G7", "G8"]
EventArm = Literal["A", "B", "both", "general", "hidden"]
Certainty = Literal["fairly sure", "somewhat sure", "not sure", "very unsure"]

_closed = with_config(ConfigDict(extra="forbid", allow_inf_nan=False))


@_closed
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


@_closed
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


@_closed
@dataclass(frozen=True, slots=True)
class Counts:
    """How many clients did better under which arm; None between clients."""

    a_better: int
    equal: int
    b_better: int


@_closed
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


@_closed
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


@_closed
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
        For G4: about how many clients a clear answer would take.
    """

    case: Case
    favours: Literal["A", "B", ""]
    certainty: Certainty
    reasons: tuple[str, ...]
    depends_on: str = ""
    clients_needed: int | None = None


@_closed
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


@_closed
@dataclass(frozen=True, slots=True)
class Event:
    """One kind of adverse event, counted."""

    event: str
    severity: str
    arm: EventArm
    serious: bool
    clients: int


@_closed
@dataclass(frozen=True, slots=True)
class Safety:
    """Adverse events, read before any effect.

    Parameters
    ----------
    treated : int
        Clients with an opened card who were worked on.
    visits : int
        Their visits.
    visits_signed : int
        Visits of these with an event or a signed 'none seen'.
    events : sequence of Event
    with_event : int
        Clients with at least one event, treated or not.
    upper_limit : float or None
        When none was seen: the highest true rate (0 to 1) that would still fit, 95 %, from the
        clients whose visits are all signed.
    stop : str
        Empty, or why the series has to pause now.
    clients_signed : int or None
        Treated clients whose visits are all signed; None where it was not counted.
    not_treated_with_event : int
        Of `with_event`, those who have no card or no session that shows work.
    pooled : sequence of Event
        The events counted over both arms together, each client once.
    """

    treated: int
    visits: int
    visits_signed: int
    events: tuple[Event, ...]
    with_event: int
    upper_limit: float | None
    stop: str = ""
    clients_signed: int | None = None
    not_treated_with_event: int = 0
    pooled: tuple[Event, ...] = ()


@_closed
@dataclass(frozen=True, slots=True)
class Flow:
    """From asking to analysing, in numbers of clients (and eyelids where they differ).

    Parameters
    ----------
    asked, not_eligible, no_consent, allocated, treated, seen_healed, analysed : int
    eyelids_analysed : int
    not_eligible_reasons, lost_reasons : sequence of str
    wrong_arm : int
        Clients who were not worked as allocated.
    withdrawn : int
    """

    asked: int
    not_eligible: int
    no_consent: int
    allocated: int
    treated: int
    seen_healed: int
    analysed: int
    eyelids_analysed: int
    not_eligible_reasons: tuple[str, ...] = ()
    lost_reasons: tuple[str, ...] = ()
    wrong_arm: int = 0
    withdrawn: int = 0


@_closed
@dataclass(frozen=True, slots=True)
class Provenance:
    """Where the numbers come from.

    Parameters
    ----------
    software : str
        Name and version of what computed them.
    libraries : mapping of str to str
    plan, records, allocation : str
        SHA-256 fingerprints; empty when there is none.
    locked : str
        When the plan was locked; empty if it never was.
    changes : sequence of Change
        What differs between the locked plan and the file as it is now.
    analysed : str
        Date of the analysis, ISO 8601.
    looks : sequence of str
        Every look at the arms before the end, planned or not, one sentence each.
    stopped : str
        Why the study ended early; empty when it did not.
    tampering : sequence of str
        What was changed outside the kit.
    """

    software: str
    libraries: Mapping[str, str]
    plan: str
    records: str
    allocation: str
    locked: str
    analysed: str
    changes: tuple[Change, ...] = ()
    looks: tuple[str, ...] = ()
    stopped: str = ""
    tampering: tuple[str, ...] = ()


@_closed
@dataclass(frozen=True, slots=True)
class Findings:
    """Every number of one analysis.

    Parameters
    ----------
    plan : Plan
        As locked.
    flow : Flow
    safety : Safety
    primary : Effect
    secondary : sequence of Effect
        All exploratory.
    missing_values : mapping of str to int
        Required entries that were left out with a reason, by column.
    provenance : Provenance
    format : int
    """

    plan: Plan
    flow: Flow
    safety: Safety
    primary: Effect
    secondary: tuple[Effect, ...]
    provenance: Provenance
    missing_values: Mapping[str, int] = field(default_factory=dict)
    format: Literal[1] = 1

    @property
    def effects(self) -> tuple[Effect, ...]:
        """The primary effect, then the exploratory ones."""
        return (self.primary, *self.secondary)

    def to_dict(self) -> dict[str, Any]:
        """Give the findings as plain data."""
        data: dict[str, Any] = json.loads(self.to_json())
        return data

    def to_json(self) -> str:
        """Write the findings as the text of findings.json."""
        return json.dumps(asdict(self), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


@dataclass(frozen=True, slots=True)
class Running:
    """What may be known while a study runs: pace, gaps and safety, never the arms.

    Parameters
    ----------
    planned, enrolled, treated, with_primary : int
        Clients.
    asked, not_enrolled : int
    days_running : int or None
    last_enrolment : str
        ISO date, empty when there was none.
    missing_values : mapping of str to int
        Entries left out with a reason, by 'table.column'.
    overdue : sequence of str
        Clients whose healed visit is late, one sentence each.
    safety : Safety
        Events counted over both arms together.
    notes : sequence of str
        Why the arms stay hidden, and what comes next.
    """

    planned: int
    asked: int
    enrolled: int
    not_enrolled: int
    treated: int
    with_primary: int
    days_running: int | None
    last_enrolment: str
    missing_values: Mapping[str, int]
    overdue: tuple[str, ...]
    safety: Safety
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Give the view as plain data."""
        return asdict(self)


@cache
def _adapter() -> TypeAdapter[Findings]:
    return TypeAdapter(Findings)


def read_findings(text: str, where: str = "findings.json") -> Findings:
    """Read findings back from the text of their file.

    Parameters
    ----------
    text : str
    where : str, default='findings.json'
        File name used in messages.

    Returns
    -------
    Findings

    Raises
    ------
    UserError
        If the text is not what `Findings.to_json` writes, or of a later format.
    """
    remedy = "Run the analysis again; findings can always be made anew from plan and records."
    try:
        data = json.loads(text)
        if (
            isinstance(data, dict)
            and isinstance(data.get("format"), int)
            and data["format"] > FORMAT
        ):
            told = f"{where} was written by a later release (format {data['format']})."
            raise UserError(told, "Install a newer pmulab.")
        return _adapter().validate_json(text)
    except (ValueError, RecursionError) as error:
        first = error.errors()[0] if isinstance(error, ValidationError) else None
        place = ".".join(map(str, first["loc"])) if first else str(error)
        raise UserError(f"{where} cannot be read (at {place}).", remedy) from None


__all__ = [
    "Adjusted",
    "ArmSummary",
    "Case",
    "Certainty",
    "Change",
    "ClientValues",
    "Counts",
    "Effect",
    "Estimate",
    "Event",
    "Findings",
    "Flow",
    "Interval",
    "Missing",
    "Provenance",
    "Running",
    "Safety",
    "Test",
    "Verdict",
    "read_findings",
]
