"""The plan of one comparison: what is compared, on whom, and what would matter.

A plan is read from `plan.toml` into frozen dataclasses; every fault is told with its line.
"""

import json
import re
import tomllib
from dataclasses import asdict, dataclass, field, fields
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import ConfigDict, Field, StringConstraints, TypeAdapter, ValidationError, with_config

from pmulab.errors import UserError
from pmulab.tables.fields import Field as TableField
from pmulab.tables.schema import study_tables

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

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
    """

    label: Word
    steps: Text = ""
    pigment: Literal["", "iron_oxide", "carbon", "mixed", "other"] = ""


@_closed
@dataclass(frozen=True, slots=True)
class Arms:
    """The two ways compared; differences are always A minus B."""

    A: Arm
    B: Arm

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
        Numbers of clients at which one early look is planned; empty for none.
    """

    lead: Literal["plain", "adjusted"] = "plain"
    looks: tuple[Annotated[int, Field(ge=4)], ...] = ()


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
        return data

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the plan's content; comments and layout of the file do not count."""
        canonical = json.dumps(self.to_dict(), sort_keys=True, ensure_ascii=False, allow_nan=False)
        return sha256(canonical.encode()).hexdigest()

    def tables(self) -> "Mapping[str, Table]":
        """Give the four tables as this study records them, its own columns included."""
        return plan_tables(self)


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the plan that differs from the locked one."""

    entry: str
    locked: str
    now: str

    def __str__(self) -> str:
        return f"{self.entry}: locked as {self.locked!r}, now {self.now!r}"


@cache
def _adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


def read_plan(text: str, where: str = "plan.toml") -> Plan:
    """Read a plan from the text of its file.

    Parameters
    ----------
    text : str
        TOML.
    where : str, default='plan.toml'
        File name used in messages.

    Returns
    -------
    Plan

    Raises
    ------
    UserError
        If the text is no TOML, or an entry is missing, unknown or impossible. All faults are
        told at once, each with its line.
    """
    text = text.removeprefix("\ufeff")
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise UserError(f"{where}: {_plain_toml_fault(error, text)}", _TOML_REMEDY) from None
    plan, faults = _validated(data)
    told = [f"{where}, line {line_of(text, place)}: {fault}" for place, fault in faults]
    if told or plan is None:
        raise UserError("\n".join(told), "Mend these lines in the plan and save the file again.")
    return plan


def plan_from_dict(data: "Mapping[str, Any]", where: str = "journal") -> Plan:
    """Build a plan from plain data that a locked journal entry or a findings file holds.

    Parameters
    ----------
    data : mapping
        As `Plan.to_dict` gives it.
    where : str
        Named in messages.

    Returns
    -------
    Plan

    Raises
    ------
    UserError
        If the data are not a plan of a format that this release knows.
    """
    plan, faults = _validated(data)
    if plan is None or faults:
        told = "; ".join(f"{'.'.join(map(str, place))}: {fault}" for place, fault in faults)
        raise UserError(f"The plan kept in {where} cannot be read: {told}", "Ask for help with it.")
    return plan


def changes(locked: Plan, now: Plan) -> tuple[Change, ...]:
    """List what differs between the locked plan and the file as it is now.

    Parameters
    ----------
    locked, now : Plan

    Returns
    -------
    tuple of Change
        In alphabetical order of the entries; empty when nothing differs.
    """
    before, after = _flat(locked.to_dict()), _flat(now.to_dict())
    keys = sorted(before.keys() | after.keys())
    return tuple(
        Change(key, str(before.get(key, "(nothing)")), str(after.get(key, "(nothing)")))
        for key in keys
        if before.get(key) != after.get(key)
    )


def line_of(text: str, place: "tuple[str | int, ...]") -> int:
    """Find the line of a TOML text on which an entry stands.

    Parameters
    ----------
    text : str
    place : tuple of str or int
        Path of the entry, e.g. ('secondary', 1, 'unit').

    Returns
    -------
    int
        From 1. When the entry is missing, the line of the table it belongs to.
    """
    for depth in range(len(place), 0, -1):
        wanted = place[:depth]
        for number, here in _entries(text):
            if here == wanted:
                return number
    return 1


def plan_tables(plan: Plan) -> "Mapping[str, Table]":
    """Give the four tables with the plan's own columns, its outcomes required.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    mapping of str to Table
    """
    known = study_tables()
    extra: dict[str, list[TableField]] = {"sessions": [], "healed": []}
    required: dict[str, list[str]] = {"sessions": [], "healed": []}
    for outcome in plan.outcomes:
        required[outcome.table].append(outcome.name)
        if not is_known(outcome, known):
            extra[outcome.table].append(_own_column(outcome))
    return study_tables(extra, required)


def is_known(outcome: Outcome, tables: "Mapping[str, Table]") -> bool:
    """Tell whether the outcome is a column that every study has.

    Parameters
    ----------
    outcome : Outcome
    tables : mapping of str to Table
        The tables without a study's own columns.

    Returns
    -------
    bool
    """
    return any(known.name == outcome.name for known in tables[outcome.table].fields)


def _own_column(outcome: Outcome) -> TableField:
    whole = outcome.kind in ("ordinal", "count") and outcome.step in (0, 1)
    kind: Literal["flag", "int", "float"] = (
        "flag" if outcome.yes_no else "int" if whole else "float"
    )
    return TableField(
        name=outcome.name,
        title=outcome.title,
        kind=kind,
        unit="" if outcome.yes_no else outcome.unit,
        minimum=None if outcome.yes_no else outcome.low,
        maximum=None if outcome.yes_no else outcome.high,
        step=outcome.step or None,
        anchors=outcome.anchors,
        group="this study",
        needed="always",
        why="An outcome of this study's plan.",
    )


_TOML_REMEDY = (
    "A line reads: name = value. Words stand in double quotes, numbers use a point (2.5), "
    "and a list stands in square brackets."
)

Fault = tuple[tuple[str | int, ...], str]


def _validated(data: "Mapping[str, Any]") -> tuple[Plan | None, list[Fault]]:
    version = data.get("format")
    if isinstance(version, int) and version > FORMAT:
        told = f"the plan has format {version}; this release reads format {FORMAT}"
        return None, [(("format",), f"{told}: install a newer pmulab")]
    try:
        plan = _adapter().validate_json(json.dumps(data, default=str))
    except ValidationError as error:
        return None, [_plain(one) for one in error.errors(include_url=False)]
    return plan, list(_cross_checks(plan))


def _cross_checks(plan: Plan) -> "Iterator[Fault]":
    yield from _arm_faults(plan)
    yield from _time_faults(plan)
    names = [outcome.name for outcome in plan.outcomes]
    if len(plan.secondary) > 4:
        yield ("secondary", 4), "at most four secondary outcomes: more would find something by luck"
    for place, outcome in zip(_outcome_places(plan), plan.outcomes, strict=True):
        if names.count(outcome.name) > 1:
            yield (*place, "name"), f"{outcome.name!r} is named twice"
        for key, fault in _outcome_faults(outcome):
            yield (*place, key), fault


def _outcome_places(plan: Plan) -> list[tuple[str | int, ...]]:
    return [("primary",), *(("secondary", row) for row in range(len(plan.secondary)))]


def _outcome_faults(outcome: Outcome) -> "Iterator[tuple[str, str]]":
    if outcome.low >= outcome.high:
        yield "low", f"low ({outcome.low:g}) must lie below high ({outcome.high:g})"
    widest = 100.0 if outcome.yes_no else outcome.high - outcome.low
    if outcome.worthwhile > widest > 0:
        yield "worthwhile", f"{outcome.worthwhile:g} is more than the whole range ({widest:g})"
    known = study_tables()
    taken = {
        one.name for name, table in known.items() if name != outcome.table for one in table.fields
    }
    if not is_known(outcome, known) and outcome.name in taken:
        yield "table", f"{outcome.name!r} is recorded in another table, not in {outcome.table}"


def _arm_faults(plan: Plan) -> "Iterator[Fault]":
    if plan.arms.A.label.casefold() == plan.arms.B.label.casefold():
        yield ("arms", "B", "label"), "the two arms need different names"
    varied = plan.study.pigment == "varied"
    for key, arm in (("A", plan.arms.A), ("B", plan.arms.B)):
        if varied != bool(arm.pigment):
            told = 'name each arm\'s pigment, and set pigment = "varied" in [study], or neither'
            yield ("arms", key, "pigment"), told


def _time_faults(plan: Plan) -> "Iterator[Fault]":
    if not plan.healed.earliest <= plan.healed.planned_day <= plan.healed.latest:
        yield ("healed", "planned_day"), "the planned day must lie between earliest and latest"
    if len(plan.analysis.looks) > 1 or any(n >= plan.clients.planned for n in plan.analysis.looks):
        yield ("analysis", "looks"), "at most one early look, at fewer clients than planned"
    if plan.analysis.lead == "adjusted" and not plan.within_person:
        yield ("analysis", "lead"), "only a left/right comparison has an adjusted estimate"


def _plain(error: Any) -> Fault:
    """Turn one fault of the validator into a sentence."""
    place = tuple(part for part in error["loc"] if not str(part).startswith("function-"))
    name = str(place[-1]) if place else "plan"
    kind, limits = error["type"], error.get("ctx", {})
    if kind == "missing":
        return place, f"{name!r} is missing"
    if kind in ("unexpected_keyword_argument", "extra_forbidden"):
        return place, f"{name!r} is not an entry of the plan{_nearest(place)}"
    if kind == "literal_error":
        return place, f"{name!r} must be {limits['expected']}; found {_shown(error['input'])}"
    found = f"; found {_shown(error['input'])}"
    told = str(error["msg"]).replace("Input should be", "must be").replace("String should", "must")
    return place, f"{name!r}: {told[:1].lower()}{told[1:]}{found}"


def _shown(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def _nearest(place: tuple[str | int, ...]) -> str:
    from difflib import get_close_matches

    words = {
        one.name
        for kind in (Plan, About, Arm, Outcome, Clients, Healed, Analysis, Promises)
        for one in fields(kind)
    }
    near = get_close_matches(str(place[-1]), sorted(words), n=1)
    return f"; did you mean {near[0]!r}?" if near else ""


def _flat(data: Any, prefix: str = "") -> dict[str, Any]:
    if isinstance(data, dict) and data:
        return {
            k: v for key, value in data.items() for k, v in _flat(value, f"{prefix}{key}.").items()
        }
    if isinstance(data, list) and data and isinstance(data[0], dict):
        return _flat({str(row + 1): value for row, value in enumerate(data)}, prefix)
    return {prefix.rstrip("."): data}


_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]")
_ENTRY = re.compile(r"""^\s*["']?([A-Za-z0-9_-]+)["']?\s*=""")


def _entries(text: str) -> "Iterator[tuple[int, tuple[str | int, ...]]]":
    """Walk the lines of a TOML text, naming the path each one opens."""
    table: tuple[str | int, ...] = ()
    rows: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            name = header[2]
            table = tuple(part.strip(" \"'") for part in name.split("."))
            if header[1] == "[[":
                rows[name] = rows.get(name, -1) + 1
                table = (*table, rows[name])
            yield number, table
        elif entry := _ENTRY.match(line):
            yield number, (*table, entry[1])


def _plain_toml_fault(error: Exception, text: str) -> str:
    told = str(error)
    if match := re.search(r"at line (\d+), column (\d+)", told):
        number = int(match[1])
        lines = text.splitlines()
        shown = lines[number - 1].strip() if number <= len(lines) else ""
        if re.search(r"=\s*-?\d+,\d+\s*(#.*)?$", shown):
            return f"line {number} has a decimal comma: {shown}"
        return f"line {number} cannot be read: {shown}"
    return f"the file cannot be read as a plan ({told})"
