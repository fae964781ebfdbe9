"""What a plan holds: frozen dataclasses, validated when they are read."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from hashlib import sha256
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import ConfigDict, Field, StringConstraints, with_config

from pmulab.tables.expectations import Shown

if TYPE_CHECKING:
    from pmulab.tables.fields import Table

FORMAT = 1
"""Version of the plan file that this release writes and reads."""
Key = Literal["A", "B"]
Design = Literal["within-person", "parallel"]
Kind = Literal["continuous", "ordinal", "count", "yes-no"]
Line = Annotated[str, StringConstraints(max_length=300, pattern=r"^[^\r\n\x00]*$")]
Word = Annotated[str, StringConstraints(min_length=1, max_length=120, pattern=r"^[^\r\n\x00]+$")]
Text = Annotated[str, StringConstraints(max_length=4000)]
Code = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Column = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,39}$")]
_closed = with_config(
    ConfigDict(extra="forbid", strict=True, allow_inf_nan=False, str_strip_whitespace=True)
)


@_closed
@dataclass(frozen=True, slots=True)
class About:
    """What the study is called and where it happens.

    Parameters
    ----------
    code : str
        Short name of the study; small letters, digits and hyphens.
    title, question : str
        One line each; the question as it would be asked aloud.
    design : {'within-person', 'parallel'}
        Left against right eyelid of one client, or clients against clients.
    lid : {'upper', 'lower'}
        Only one of them in a study.
    library : str, default=""
        Name of the ready question that the plan came from.
    pigment : str
        Pigment family used in both arms; 'varied' when the arms differ in it.
    setting, operator : str
        Kind of place and who works, without names.
    invented : bool, default=False
        True for demonstration data; shown on every output.
    """

    code: Code
    title: Word
    question: Word
    design: Design
    lid: Literal["upper", "lower"]
    library: Line = ""
    pigment: Literal["iron_oxide", "carbon", "mixed", "other", "varied"] = "iron_oxide"
    setting: Line = ""
    operator: Line = ""
    invented: bool = False


@_closed
@dataclass(frozen=True, slots=True)
class Arm:
    """One way of working.

    Parameters
    ----------
    label : str
        What she calls it; shown wherever the arm is named.
    steps : str
        Enough for a colleague to repeat it.
    pigment : str, default=""
        Pigment family of this arm when the arms differ in it.
    recorded : mapping of str to value, optional
        What the sessions table has to show of this arm, by column: a choice, a number, or the
        lowest and the highest number.
    """

    label: Word
    steps: Text = ""
    pigment: Literal["", "iron_oxide", "carbon", "mixed", "other"] = ""
    recorded: Mapping[Column, Shown] = field(default_factory=dict)


@_closed
@dataclass(frozen=True, slots=True)
class Arms:
    """The two ways compared; differences are always A minus B."""

    A: Arm
    B: Arm

    @property
    def both(self) -> tuple[tuple[Key, Arm], ...]:
        """Each arm with its key."""
        return (("A", self.A), ("B", self.B))

    def label(self, key: str) -> str:
        """Give the label of arm 'A' or 'B'."""
        return {"A": self.A.label, "B": self.B.label}[key]


@_closed
@dataclass(frozen=True, slots=True)
class Outcome:
    """One thing measured on every eyelid (or client).

    Parameters
    ----------
    name : str
        Column in the table; a name that the tables do not know becomes a column of this study.
    table : {'sessions', 'healed'}
        Where it is recorded: on the day, or when healed.
    title, unit : str
        In plain words; the unit is printed on every axis.
    kind : {'continuous', 'ordinal', 'count', 'yes-no'}
        How it is analysed.
    better : {'lower', 'higher'}
        Which direction is welcome. For yes/no: 'lower' means that 'yes' is unwelcome.
    worthwhile : float
        Smallest worthwhile difference, in the unit (yes/no: percentage points).
    low, high : float
        Possible range in the unit; entries outside are refused.
    step : float, default=0
        Smallest step of the scale, 0 when there is none.
    judged : {'measured', 'blind', 'open'}
        By clock, ruler or count; by someone who does not know the arm; by someone who does.
    worthwhile_reason : str
        Why that difference would change what she does.
    worthwhile_own : bool
        True once she has confirmed or changed the suggested value.
    missing_limit : float or None
        Largest believable difference within one client, used to bound missing results;
        four times the smallest worthwhile difference if not given.
    anchors : sequence of str
        What each grade looks like.
    """

    name: Column
    table: Literal["sessions", "healed"]
    title: Word
    unit: Word
    kind: Kind
    better: Literal["lower", "higher"]
    worthwhile: Annotated[float, Field(gt=0)]
    low: float
    high: float
    step: Annotated[float, Field(ge=0)] = 0.0
    judged: Literal["measured", "blind", "open"] = "measured"
    worthwhile_reason: Text = ""
    worthwhile_own: bool = False
    missing_limit: Annotated[float, Field(gt=0)] | None = None
    anchors: tuple[Line, ...] = ()

    @property
    def yes_no(self) -> bool:
        """True when the outcome is answered by yes or no."""
        return self.kind == "yes-no"

    @property
    def limit(self) -> float:
        """Largest believable difference within one client, in the unit."""
        if self.missing_limit is not None:
            return self.missing_limit
        widest = 100.0 if self.yes_no else self.high - self.low
        return min(4 * self.worthwhile, widest)


@_closed
@dataclass(frozen=True, slots=True)
class Clients:
    """How many clients, and who does not take part.

    Parameters
    ----------
    planned : int
        Clients to be enrolled, 2 to 400.
    dropout : float
        Share expected not to be seen again, 0 to 0.5.
    exclude : sequence of str
        Reasons of this study, beside the general ones that are always asked.
    """

    planned: Annotated[int, Field(ge=2, le=400)]
    dropout: Annotated[float, Field(ge=0, le=0.5)] = 0.15
    exclude: tuple[Line, ...] = ()


@_closed
@dataclass(frozen=True, slots=True)
class Healed:
    """When the healed line is judged, in days after the session."""

    planned_day: Annotated[int, Field(ge=28, le=400)] = 42
    earliest: Annotated[int, Field(ge=28, le=400)] = 28
    latest: Annotated[int, Field(ge=28, le=400)] = 70


@_closed
@dataclass(frozen=True, slots=True)
class Analysis:
    """What was decided about the analysis before the first client.

    Parameters
    ----------
    lead : {'plain', 'adjusted'}
        Which estimate is named first; the verdict needs both to agree in any case.
    looks : sequence of int
        Numbers of clients at which an early look is planned, rising; empty for none.
    spending : {'hardly', 'late', 'evenly'}
        How much of the error the early looks may use up: one in a thousand each; little at
        first (O'Brien-Fleming type); or about the same at each look (Pocock type).
    after_every_client : bool
        True when the arms may be compared after every client, at the price of wide intervals.
    """

    lead: Literal["plain", "adjusted"] = "plain"
    looks: tuple[Annotated[int, Field(ge=4)], ...] = ()
    spending: Literal["hardly", "late", "evenly"] = "hardly"
    after_every_client: bool = False


@_closed
@dataclass(frozen=True, slots=True)
class Promises:
    """What has to be settled with people before the first client; one or two sentences each.

    Parameters
    ----------
    allowed_by : str
        Who said that this comparison is allowed (licence, local code, ethics), and when.
    later_use, unblinding, looking_early, after_care, sharing : str
        Consent for later use; who may learn the arm, when; why nobody looks early; what is
        done for a client who is harmed; what leaves the studio.
    cautions : sequence of str
        Cautions that belong to this question.
    """

    allowed_by: Text = ""
    later_use: Text = ""
    unblinding: Text = ""
    looking_early: Text = ""
    after_care: Text = ""
    sharing: Text = ""
    cautions: tuple[Line, ...] = ()


@_closed
@dataclass(frozen=True, slots=True)
class Plan:
    """Everything decided before the first client."""

    format: Literal[1]
    study: About
    arms: Arms
    primary: Outcome
    clients: Clients
    secondary: tuple[Outcome, ...] = ()
    healed: Healed = field(default_factory=Healed)
    analysis: Analysis = field(default_factory=Analysis)
    promises: Promises = field(default_factory=Promises)

    @property
    def within_person(self) -> bool:
        """True when the two eyelids of one client are compared."""
        return self.study.design == "within-person"

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        """The primary outcome, then the secondary ones."""
        return (self.primary, *self.secondary)

    def to_dict(self) -> dict[str, Any]:
        """Give the plan as plain data, ready for JSON."""
        data: dict[str, Any] = json.loads(json.dumps(asdict(self)))
        for arm in data["arms"].values():  # a plan without it keeps the fingerprint it had before
            if not arm["recorded"]:
                del arm["recorded"]
        return data

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the plan's content; comments and layout of the file do not count."""
        return fingerprint_of(self.to_dict())

    def tables(self) -> "dict[str, Table]":
        """Give the four tables as this study records them, its own columns included."""
        from pmulab.plan.columns import plan_tables

        return plan_tables(self)


def fingerprint_of(content: Any) -> str:
    """Give the fingerprint of a plan's content.

    Parameters
    ----------
    content : plain data
        As `Plan.to_dict` gives it, or as JSON gives it back.

    Returns
    -------
    str
        SHA-256; the order of entries does not count.
    """
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=False, allow_nan=False)
    return sha256(canonical.encode()).hexdigest()
