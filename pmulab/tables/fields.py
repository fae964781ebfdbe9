"""What a column, a table and an explained blank are."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["code", "date", "int", "float", "choice", "flag", "text"]
Needed = Literal["always", "plan", "no"]
Per = Literal["eyelid", "visit"]
Share = Literal["keep", "day", "drop"]
Limit = float | str | None

TABLE_NAMES = ("clients", "sessions", "healed", "events")
MISSING_REASONS = ("NA_not_done", "NA_refused", "NA_lost", "NA_not_applicable")


@dataclass(frozen=True, slots=True)
class Field:
    """One column: what it holds, in which unit, within which range, and why it is asked.

    Parameters
    ----------
    name : str
        Column name, lower case with underscores.
    title : str
        Plain words; also accepted as a column header.
    kind : {'code', 'date', 'int', 'float', 'choice', 'flag', 'text'}
    unit : str, default=''
    needed : {'always', 'plan', 'no'}, default='no'
        'always': a blank is a problem, a missing value carries its reason code.
        'plan': as 'always' once a plan names it.
    minimum, maximum : float or None
        Hard limits, in `unit`; a value outside blocks the analysis.
    plausible : tuple of (low, high) or None
        Values outside are pointed out; ISO dates for a date.
    step : float or None
        The finest step the value is noted in.
    choices : tuple of str
    labels : tuple of (choice, words)
        Other words accepted for a choice.
    pattern : str or None
        Regular expression for the whole value of a code.
    arm : bool, default=False
        The column holds an arm; the plan's label is accepted for its key.
    anchors : tuple of str
        What each grade looks like.
    example : str, default=''
    group, hint, why : str
        Heading in the field guide, message beside the cell, reason for asking.
    per : {'eyelid', 'visit'}, default='eyelid'
        Whether both eyelids of a session share the value.
    share : {'keep', 'day', 'drop'}, default='keep'
        On sharing: kept, turned into days, or left out.
    """

    name: str
    title: str
    kind: Kind
    unit: str = ""
    needed: Needed = "no"
    minimum: float | None = None
    maximum: float | None = None
    plausible: tuple[Limit, Limit] | None = None
    step: float | None = None
    choices: tuple[str, ...] = ()
    labels: tuple[tuple[str, str], ...] = ()
    pattern: str | None = None
    arm: bool = False
    anchors: tuple[str, ...] = ()
    example: str = ""
    group: str = "study"
    per: Per = "eyelid"
    share: Share = "keep"
    hint: str = ""
    why: str = ""

    @property
    def asked(self) -> str:
        """Its name in a message, for whoever answers it in a form."""
        return f"'{self.title}'"

    @property
    def named(self) -> str:
        """Its name in a message, for whoever has to find its column in a sheet."""
        return f"{self.asked} (column {self.name})"

    @property
    def allowed(self) -> str:
        """What may stand in the cell, in a few plain words."""
        words = {
            "choice": "one of " + ", ".join(self._offered),
            "flag": "yes or no",
            "date": "a date such as 2026-03-01",
            "int": "a whole number",
            "float": "a number",
            "code": f"a code such as {self.sample}",
            "text": "text",
        }[self.kind]
        if self.kind in ("int", "float") and self.minimum is not None:
            top = "up" if self.maximum is None else f"to {self.maximum:g}"
            words += f" from {self.minimum:g} {top}"
        return f"{words} ({self.unit})" if self.unit and self.kind in ("int", "float") else words

    @property
    def _offered(self) -> tuple[str, ...]:
        """The choices as a form offers them: an arm by the name that the plan gives it."""
        names = {key: name for key, name in self.labels if self.arm and key in ("A", "B")}
        return tuple(names.get(choice, choice) for choice in self.choices)

    @property
    def words(self) -> dict[str, str]:
        """What people write for a choice, in small letters, and how a form offers that choice."""
        offered = dict(zip(self.choices, self._offered, strict=True))
        words = {word.casefold(): offered.get(choice, choice) for choice, word in self.labels}
        return words | {choice.casefold(): shown for choice, shown in offered.items()}

    @property
    def such_as(self) -> str:
        """An example where `allowed` holds none; never a number, which would suggest a value."""
        if self.kind != "text" or not self.example:
            return ""
        return f", such as {self.example}"

    @property
    def sample(self) -> str:
        """One allowed value, for a message or an example."""
        if self.example:
            return self.example
        if self.choices:
            return self._offered[0]
        if self.kind in ("int", "float"):
            low = (self.plausible or (self.minimum,))[0]
            return f"{low:g}" if isinstance(low, (int, float)) else "1"
        return {"flag": "yes", "date": "2026-03-01"}.get(self.kind, "text")


@dataclass(frozen=True, slots=True)
class Fill:
    """An answer that explains the blanks of its row.

    Parameters
    ----------
    field, value : str
        When this field holds this value,
    reason : str
        blanks of the row count as this missing-reason code (or, in a key, as this answer),
    only : tuple of str, default=()
        in these fields; empty means every needed field that is no key.
    """

    field: str
    value: str
    reason: str
    only: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its fields in order, and the fields that name a row.

    Parameters
    ----------
    name, title : str
    fields : tuple of Field
    keys : tuple of str
        Together they occur once.
    description : str
        What one row is.
    fills : tuple of Fill
    """

    name: str
    title: str
    fields: tuple[Field, ...]
    keys: tuple[str, ...]
    description: str = ""
    fills: tuple[Fill, ...] = ()

    def __getitem__(self, name: str) -> Field:
        """Return the field of that name."""
        for field in self.fields:
            if field.name == name:
                return field
        raise KeyError(name)

    @property
    def names(self) -> tuple[str, ...]:
        """Column names in order."""
        return tuple(field.name for field in self.fields)
