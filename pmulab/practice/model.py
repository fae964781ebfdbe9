"""What watching a practice found: data only."""

from dataclasses import asdict, dataclass
from typing import Any

from pmulab.estimate.control_charts import Chart
from pmulab.estimate.cusum import Cusum
from pmulab.estimate.results import Estimate
from pmulab.estimate.run_chart import RunSignal
from pmulab.findings import ArmSummary, Certainty
from pmulab.plan import Outcome

FEWEST_BASELINE = 12
"""Values from which limits are tried, provisionally; they settle at about twenty."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A dated change of the practice.

    Parameters
    ----------
    client : int
        Number of the first client after it.
    date : str
        ISO 8601; empty when not known.
    words : str
        What changed, as noted.
    """

    client: int
    date: str
    words: str


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """The stretch before a dated change and the stretch after it.

    Parameters
    ----------
    moment : Moment
    before, after : ArmSummary
        From the change before this one, and up to the next one; yes/no in per cent.
    difference : Estimate
        After minus before, in the outcome's unit (yes/no: percentage points).
    certainty : str
        Never more than 'not sure': nobody drew by lot who came before and who after.
    reasons : tuple of str
    """

    moment: Moment
    before: ArmSummary
    after: ArmSummary
    difference: Estimate
    certainty: Certainty
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A measured outcome over consecutive clients.

    Parameters
    ----------
    outcome : Outcome
    clients : tuple of int
        Numbers of the clients with a value.
    values : tuple of float
        In the outcome's unit.
    not_known : int
        Clients without a value.
    baseline : int
        How many of the first values limits may be taken from.
    run : RunSignal
    run_alarms : float or None
        Share of steady series with a signal of the run rules, in [0, 1].
    limits : Chart or None
        None where the baseline is too short for limits.
    limits_alarms : float or None
        Share of steady series of this length with a point outside.
    cusum : Cusum or None
        Of the values after the baseline; None without limits or without such values.
    cusum_alarms : float or None
        Share of steady series of this length in which it signals.
    changes : tuple of BeforeAfter
    """

    outcome: Outcome
    clients: tuple[int, ...]
    values: tuple[float, ...]
    not_known: int
    baseline: int
    run: RunSignal
    run_alarms: float | None
    limits: Chart | None
    limits_alarms: float | None
    cusum: Cusum | None
    cusum_alarms: float | None
    changes: tuple[BeforeAfter, ...]


@dataclass(frozen=True, slots=True)
class Tuned:
    """What a running sum of yes/no answers is tuned to.

    Parameters
    ----------
    rate, raised : float
        Rate of yes of the baseline, and with its odds doubled; in (0, 1).
    found_after : float
        Clients on average until the raised rate shows.
    """

    rate: float
    raised: float
    found_after: float


@dataclass(frozen=True, slots=True)
class Shares:
    """A yes/no outcome, counted month by month; a month with a change in it is parted there.

    Parameters
    ----------
    outcome : Outcome
    months : tuple of str
        'YYYY-MM', in order of time.
    first_clients : tuple of int
        Number of the first client of each period.
    yes, seen : tuple of int
        Clients with a yes, and clients with an answer.
    not_known : int
    baseline : int
        How many of the first periods limits may be taken from.
    limits : Chart or None
        As in `Line`; shares in [0, 1].
    limits_alarms : float or None
        Chance that a steady practice has a month outside.
    changes : tuple of BeforeAfter
    sum_clients : tuple of int
        Numbers of the clients after the baseline, whose answers the running sum gathers.
    cusum : Cusum or None
        Of these answers one by one, as shares of what counts as a sign; None where the baseline
        is too short or nobody came after it.
    cusum_alarms : float or None
        Share of steady series of this length in which it signals.
    tuned : Tuned or None
        What the running sum is tuned to.
    """

    outcome: Outcome
    months: tuple[str, ...]
    first_clients: tuple[int, ...]
    yes: tuple[int, ...]
    seen: tuple[int, ...]
    not_known: int
    baseline: int
    limits: Chart | None
    limits_alarms: float | None
    changes: tuple[BeforeAfter, ...]
    sum_clients: tuple[int, ...] = ()
    cusum: Cusum | None = None
    cusum_alarms: float | None = None
    tuned: Tuned | None = None

    @property
    def first(self) -> int:
        """Clients of the baseline."""
        return sum(self.seen[: self.baseline])


@dataclass(frozen=True, slots=True)
class Watched:
    """All that was found about consecutive clients.

    Parameters
    ----------
    clients : int
    first, last : str
        Dates, ISO 8601; empty when none is known.
    moments : tuple of Moment
    harmed, asked : int
        Clients with an adverse event, and clients of whom it is known.
    upper_limit : float or None
        When none was harmed: the highest true rate (0 to 1) that would still fit, 95 %.
    lines : tuple of Line
    shares : tuple of Shares
    limits_run_length, cusum_run_length : float
        Values until a signal by luck, on average, were level and spread known exactly.
    invented, lids_mixed : bool
    """

    clients: int
    first: str
    last: str
    moments: tuple[Moment, ...]
    harmed: int
    asked: int
    upper_limit: float | None
    lines: tuple[Line, ...]
    shares: tuple[Shares, ...]
    limits_run_length: float
    cusum_run_length: float
    invented: bool = False
    lids_mixed: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Give the findings as plain data."""
        return asdict(self)
