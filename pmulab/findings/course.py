"""How a study went: who took part, what went wrong, and how the numbers came about."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from pmulab.findings.comparison import closed
from pmulab.plan import Change

REVIEWED = "Reviewed"
"""How a sentence of `Provenance.harm` begins that tells of a review."""
_EARLY = ("planned look", "unplanned look", "looked")

EventArm = Literal["A", "B", "both", "general", "hidden"]


@closed
@dataclass(frozen=True, slots=True)
class Event:
    """One kind of adverse event, counted."""

    event: str
    severity: str
    arm: EventArm
    serious: bool
    clients: int


@closed
@dataclass(frozen=True, slots=True)
class Earlier:
    """Harm that was recorded before this reading of the records, and what was decided about it.

    Parameters
    ----------
    gone, milder : int
        Events that are no longer in the records, or read milder now, without any explanation.
    corrected : int
        Events that an amendment took out or made milder, with its reason.
    reviewed : str
        The review that let cards open again after the harm that `Safety.stop` tells of; '' for
        none.
    """

    gone: int = 0
    milder: int = 0
    corrected: int = 0
    reviewed: str = ""

    @property
    def recorded(self) -> bool:
        """Tell whether harm was recorded that the records do not hold as it was."""
        return bool(self.gone or self.milder or self.corrected)


@closed
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
    clients_healed : int or None
        Treated clients whose healed result was looked at; None where it was not counted.
    pooled : sequence of Event
        The events counted over both arms together, each client once.
    earlier : Earlier
        What was recorded before.
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
    clients_healed: int | None = None
    pooled: tuple[Event, ...] = ()
    earlier: Earlier = Earlier()

    @property
    def harm_first(self) -> bool:
        """Tell whether harm decides before any difference does."""
        return bool(self.stop or self.earlier.gone or self.earlier.milder)


@closed
@dataclass(frozen=True, slots=True)
class Flow:
    """From asking to analysing, in numbers of clients (and eyelids where they differ).

    Parameters
    ----------
    asked, not_eligible, no_consent, allocated, treated, seen_healed, analysed : int
    eyelids_analysed : int
    not_eligible_reasons, lost_reasons : sequence of str
        Lost: of all who were drawn.
    wrong_arm : int
        Clients who were not worked as allocated.
    withdrawn : int
    before_card : int
        Clients who were worked on before their card was opened, by the dates.
    unlike_way : int
        Clients of whom the sessions table shows something else than the plan says of their way.
    unseen_reasons : sequence of str or None
        As `lost_reasons`, of those only who were worked on; None where it was not counted apart.
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
    before_card: int = 0
    unlike_way: int = 0
    unseen_reasons: tuple[str, ...] | None = None

    @property
    def not_seen(self) -> tuple[str, ...]:
        """Why clients who were worked on have no healed result, as far as it was counted."""
        return self.lost_reasons if self.unseen_reasons is None else self.unseen_reasons


@closed
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
    harm : sequence of str
        Harm that vanished from the records, and every review after harm, one sentence each.
    replacements : sequence of str
        Clients enrolled beyond the planned number, and for whom; one sentence each.
    journal : str
        Number and SHA-256 of the journal's last line at the analysis, 'number:fingerprint'; what
        is handed on thus tells when lines are taken away later.
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
    replacements: tuple[str, ...] = ()
    journal: str = ""
    harm: tuple[str, ...] = ()

    @property
    def early(self) -> tuple[str, ...]:
        """Of `looks`, those that showed the arms before the end; the rest are corrections."""
        return tuple(one for one in self.looks if one.lower().startswith(_EARLY))

    @property
    def vanished(self) -> tuple[str, ...]:
        """Of `harm`, what vanished from the records without an explanation."""
        return tuple(one for one in self.harm if not one.startswith(REVIEWED))


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
