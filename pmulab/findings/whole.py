"""All findings of one analysis, and the file they are kept in."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from functools import cache
from typing import Any, Literal

from pydantic import TypeAdapter, ValidationError

from pmulab.errors import UserError
from pmulab.findings.comparison import Effect, closed
from pmulab.findings.course import Flow, Provenance, Safety
from pmulab.findings.scoring import Scoring
from pmulab.plan import Plan

FORMAT = 1
"""Version of findings.json that this release writes and reads."""


@closed
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
    scoring : Scoring or None
        The blind scoring rounds; None when there were none.
    format : int
    """

    plan: Plan
    flow: Flow
    safety: Safety
    primary: Effect
    secondary: tuple[Effect, ...]
    provenance: Provenance
    missing_values: Mapping[str, int] = field(default_factory=dict)
    scoring: Scoring | None = None
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


@cache
def _adapter() -> TypeAdapter[Findings]:
    return TypeAdapter(Findings)


REMEDY = "Run the analysis again; findings can always be made anew from plan and records."


def read_findings(text: str, where: str = "findings.json", remedy: str = REMEDY) -> Findings:
    """Read findings back from the text of their file.

    Parameters
    ----------
    text : str
    where : str, default='findings.json'
        File name used in messages.
    remedy : str, optional
        What to do when it cannot be read.

    Returns
    -------
    Findings

    Raises
    ------
    UserError
        If the text is not what `Findings.to_json` writes, or of a later format.
    """
    try:
        return _adapter().validate_json(text)
    except ValueError as error:
        later = _later_format(text)
        if later is not None:
            told = f"{where} was written by a later release (format {later})."
            raise UserError(told, "Install a newer pmulab.") from None
        raise UserError(f"{where} cannot be read (at {_place(error)}).", remedy) from None


def _place(error: ValueError) -> str:
    """Name the entry that cannot be read, or the line of what is no JSON."""
    if not isinstance(error, ValidationError):
        return str(error)
    first = error.errors(include_url=False, include_input=False)[0]
    if first["type"] == "json_invalid":
        return first["msg"].rpartition(" at ")[2] or "its beginning"
    return ".".join(map(str, first["loc"])) or "its beginning"


def _later_format(text: str) -> int | None:
    """Give the format of findings that a later release wrote."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return None
    told = data.get("format") if isinstance(data, dict) else None
    return told if isinstance(told, int) and told > FORMAT else None
