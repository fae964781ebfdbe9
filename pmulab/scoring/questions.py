"""What an assessor is asked about each photo: questions of the healed table, with its anchors."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Literal

from pmulab.plan import Outcome, Plan
from pmulab.tables.fields import Field, Table

Kind = Literal["segments", "grade", "choice"]
SEGMENTS = 10
_ALWAYS = (
    "segments_kept", "retention_grade", "evenness_grade", "migration", "colour_shift",
    "touchup_needed",
)  # fmt: skip
_NOT_FROM_A_PHOTO = frozenset({"satisfaction", "preference", "adherence", "touchup_min"})
_UNORDERED = frozenset({"colour_shift"})
_MOST_GRADES = 10
_HINTS = {
    "colour_shift": "Does the line look ashy, blue-grey or reddish? Judge what the picture shows.",
    "touchup_needed": "Would you fill gaps here? Decide from the picture alone.",
}


@dataclass(frozen=True, slots=True)
class Question:
    """One question about one photo.

    Parameters
    ----------
    name : str
        Column of the healed table.
    title, hint : str
    kind : {'segments', 'grade', 'choice'}
        Ten parts, each kept or not; a grade with its anchors; one of a few words.
    options : sequence of (value, words)
        What may be answered; empty for segments.
    """

    name: str
    title: str
    hint: str
    kind: Kind
    options: tuple[tuple[str, str], ...] = ()

    @property
    def values(self) -> tuple[str, ...]:
        """The values that may be answered, in their order; segments: their number kept."""
        if self.kind == "segments":
            return tuple(str(number) for number in range(SEGMENTS + 1))
        return tuple(value for value, _ in self.options)

    @property
    def ordered(self) -> bool:
        """True when values can be more or less than each other."""
        return self.kind != "choice" or (len(self.options) > 2 and self.name not in _UNORDERED)

    def to_dict(self) -> dict[str, Any]:
        """Give the question as plain data."""
        return asdict(self)


def questions(plan: Plan) -> tuple[Question, ...]:
    """Give the questions of a study's rounds.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of Question
        Those of every round, then the plan's own healed outcomes that are graded blind.
    """
    table = plan.tables()["healed"]
    own = [outcome for outcome in plan.outcomes if _graded_blind(outcome)]
    names = dict.fromkeys((*_ALWAYS, *(outcome.name for outcome in own)))
    return tuple(_question(table[name], own) for name in names)


def not_asked(table: Table, asked: tuple[Question, ...]) -> Iterator[str]:
    """Name the needed columns of the healed table that photos do not answer.

    Parameters
    ----------
    table : Table
    asked : sequence of Question

    Yields
    ------
    str
    """
    names = {question.name for question in asked}
    for field in table.fields:
        if field.needed == "always" and field.name not in names:
            yield field.name


def _graded_blind(outcome: Outcome) -> bool:
    if outcome.table != "healed" or outcome.judged != "blind" or outcome.name in _NOT_FROM_A_PHOTO:
        return False
    few = outcome.high - outcome.low <= _MOST_GRADES and outcome.step in (0, 1)
    return outcome.yes_no or (outcome.kind in ("ordinal", "count") and few)


def _question(field: Field, own: list[Outcome]) -> Question:
    said = (field.name, field.title, _HINTS.get(field.name, field.hint))
    if field.name == "segments_kept":
        return Question(*said, "segments")
    if field.kind == "choice":
        return Question(*said, "choice", _words(field))
    if field.kind == "flag":
        return Question(*said, "choice", (("no", "no"), ("yes", "yes")))
    anchors = field.anchors or next((one.anchors for one in own if one.name == field.name), ())
    return Question(*said, "grade", _grades(field, anchors))


def _words(field: Field) -> tuple[tuple[str, str], ...]:
    labels = dict(field.labels)
    return tuple((value, labels.get(value, value.replace("_", " "))) for value in field.choices)


def _grades(field: Field, anchors: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Give each grade with what it looks like, where the schema says so."""
    told = dict(anchor.partition(" ")[::2] for anchor in anchors)
    low, high = int(field.minimum or 0), int(field.maximum if field.maximum is not None else 4)
    return tuple((str(grade), told.get(str(grade), "")) for grade in range(low, high + 1))
