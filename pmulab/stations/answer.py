"""What a station says when it is done."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape
from pathlib import Path
from typing import Any, Generic, TypeVar

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Answer(Generic[Value]):
    """Sentences for the reader, the result itself, and the files that were written.

    Parameters
    ----------
    lines : sequence of str
        What happened, in plain sentences.
    value : object
        The result, for the next step of a notebook.
    files : sequence of Path
        Files written.
    data : mapping
        Plain data of the result, for programs.
    found_problems : bool, default=False
        True when the data or the client do not allow what was asked; the command then ends
        with 1.
    """

    lines: tuple[str, ...]
    value: Value
    files: tuple[Path, ...] = ()
    data: Mapping[str, Any] = field(default_factory=dict)
    found_problems: bool = False

    def __str__(self) -> str:
        written = [f"Written: {path}" for path in self.files]
        return "\n".join([*self.lines, *written])

    def __repr__(self) -> str:
        return str(self)

    def _repr_html_(self) -> str:
        lines = "".join(f"<p>{escape(line)}</p>" for line in str(self).splitlines())
        return f'<div class="pmulab-answer">{lines}</div>'

    def to_dict(self) -> dict[str, Any]:
        """Give the answer as plain data, ready for JSON."""
        return {
            "found_problems": self.found_problems,
            "lines": list(self.lines),
            "files": [str(path) for path in self.files],
            **self.data,
        }
