"""What several studies of one question say together, and which studies are still silent."""

import json
from dataclasses import asdict, dataclass
from typing import Any, Literal

from pmulab.estimate.results import Estimate, Interval, Pooled
from pmulab.findings.comparison import Case, Certainty
from pmulab.findings.course import Safety
from pmulab.findings.whole import Findings
from pmulab.plan import Arms, Design, Outcome

POOLED_FORMAT = 1
"""Version of the pooled findings that this release writes."""

State = Literal["registered", "running", "analysed", "finished", "stopped", "never reported"]


@dataclass(frozen=True, slots=True)
class Reported:
    """One study as it came out of its pack.

    Parameters
    ----------
    label : str
        What the study is called in pictures.
    study : str
        Fingerprint of its plan and its cards together.
    made : str
        Day on which the pack was made, ISO 8601.
    findings : Findings
        Of the clients who agreed to share; their values stand in `clients` in no order.
    left_out : int, default=0
        Clients who did not agree.
    source : str, default=''
        File it came from.
    rows : tuple of int
        One mark a client, the same for the same values in every outcome.
    rows_withheld : bool, default=False
        True when its clients' own values stayed in the studio.
    """

    label: str
    study: str
    made: str
    findings: Findings
    left_out: int = 0
    source: str = ""
    rows: tuple[int, ...] = ()
    rows_withheld: bool = False

    @property
    def stopped(self) -> bool:
        """True when the study ended early."""
        return bool(self.findings.provenance.stopped)


@dataclass(frozen=True, slots=True)
class Registered:
    """A study that was announced to the group before its first client.

    Parameters
    ----------
    code : str
        Short name of the study.
    study : str
        Fingerprint of its plan and its cards together.
    question, primary, unit : str
    worthwhile : float
        Smallest worthwhile difference, in the unit.
    planned : int
        Clients.
    registered, due : str
        Days, ISO 8601: announced on, and expected in by.
    clients_then : int
        Clients who had a card already when it was announced; more than 0 is too late.
    state : {'registered', 'running', 'analysed', 'finished', 'stopped', 'never reported'}
    days_overdue : int, default=0
    other_question : bool, default=False
        True for a study that asks something else than the studies that are put together.
    """

    code: str
    study: str
    question: str
    primary: str
    unit: str
    worthwhile: float
    planned: int
    registered: str
    due: str
    clients_then: int = 0
    state: State = "registered"
    days_overdue: int = 0
    other_question: bool = False

    @property
    def silent(self) -> bool:
        """True when it asks this question and never reported."""
        return self.state == "never reported" and not self.other_question


@dataclass(frozen=True, slots=True)
class SetAside:
    """A pack or study that was not pooled, and why."""

    label: str
    why: str


@dataclass(frozen=True, slots=True)
class HarmElsewhere:
    """Adverse events of a study that is not counted with the others.

    Parameters
    ----------
    label, question : str
        Of that study.
    arms : Arms
        Its own two ways, which need not be those of the others.
    safety : Safety
    """

    label: str
    question: str
    arms: Arms
    safety: Safety


@dataclass(frozen=True, slots=True)
class StudyResult:
    """One study's difference as it enters the pooling.

    Parameters
    ----------
    label : str
    study : str
        Its fingerprint.
    n : int
        Clients compared.
    value, error : float
        Difference A - B and its standard error, in the outcome's unit (yes/no: percentage
        points).
    interval : Interval or None
        The study's own.
    standardised, standardised_error : float or None
        The same in standard deviations.
    weight : float
        Share of the pooled value that comes from this study, 0 to 1; 0 when nothing is pooled.
    notes : sequence of str
        What a reader should know of it.
    """

    label: str
    study: str
    n: int
    value: float
    error: float
    interval: Interval | None
    standardised: float | None = None
    standardised_error: float | None = None
    weight: float = 0.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Without:
    """The pooled value when one study is left out."""

    label: str
    value: float
    interval: Interval | None


@dataclass(frozen=True, slots=True)
class Common:
    """The average if all studies measured one and the same difference."""

    value: float
    interval: Interval


@dataclass(frozen=True, slots=True)
class Question:
    """What the pooled studies have in common.

    Parameters
    ----------
    text : str
        As the first of them asks it.
    outcome : Outcome
        With the largest smallest worthwhile difference that any of them stated.
    design : {'within-person', 'parallel'}
    lid : str
    labels : tuple of (str, str)
        Of way A and way B.
    invented : bool
        True when any of them is a demonstration.
    """

    text: str
    outcome: Outcome
    design: Design
    lid: str
    labels: tuple[str, str]
    invented: bool = False


@dataclass(frozen=True, slots=True)
class PooledFindings:
    """Everything that was found by putting studies together.

    Parameters
    ----------
    question : Question
    safety : Safety
        Adverse events of all studies of this question, each study once.
    studies : sequence of StudyResult
    together : Pooled or None
        None for one or two studies.
    common : Common or None
        For two studies only.
    show_prediction : bool
    other_spread : Pooled or None
        By Paule-Mandel instead of REML.
    standardised : Pooled or None
        In standard deviations.
    one_stage : Estimate
        All clients in one model; no value where that cannot be done, the note says why.
    without : sequence of Without
    if_silent : Pooled or None
        With every study that never reported counted as 'no difference'.
    silent : int
        Studies that never reported.
    case : Case or None
        How the interval reads against the smallest worthwhile difference.
    favours : {'A', 'B', ''}
    certainty : Certainty
    reasons : sequence of str
    set_aside : sequence of SetAside
    register : sequence of Registered
    flags : sequence of str
        What was noticed on the way.
    software, made : str
    format : int
    other_harm : sequence of HarmElsewhere
        Adverse events of the other studies that came in.
    """

    question: Question
    safety: Safety
    studies: tuple[StudyResult, ...]
    together: Pooled | None
    common: Common | None
    show_prediction: bool
    other_spread: Pooled | None
    standardised: Pooled | None
    one_stage: Estimate
    without: tuple[Without, ...]
    if_silent: Pooled | None
    silent: int
    case: Case | None
    favours: Literal["A", "B", ""]
    certainty: Certainty
    reasons: tuple[str, ...]
    set_aside: tuple[SetAside, ...] = ()
    register: tuple[Registered, ...] = ()
    flags: tuple[str, ...] = ()
    software: str = ""
    made: str = ""
    format: int = POOLED_FORMAT
    other_harm: tuple[HarmElsewhere, ...] = ()

    @property
    def clients(self) -> int:
        """Clients compared, over all studies."""
        return sum(study.n for study in self.studies)

    def to_dict(self) -> dict[str, Any]:
        """Give the findings as plain data."""
        data: dict[str, Any] = json.loads(self.to_json())
        return data

    def to_json(self) -> str:
        """Write the findings as text."""
        return json.dumps(asdict(self), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
