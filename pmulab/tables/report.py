"""What was found and what was mended in the files, as rows an artist can work through."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from pmulab.pages import template

if TYPE_CHECKING:
    import pandas as pd

Severity = Literal["blocks analysis", "look at this"]
BLOCKS: Severity = "blocks analysis"
LOOK: Severity = "look at this"
_ROWS_LISTED = 12


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to put right or to look at.

    Parameters
    ----------
    code : str
        Short name of the rule, stable between versions.
    severity : {'blocks analysis', 'look at this'}
    file, sheet : str
        Where; `sheet` is empty for a text file.
    row : int or None
        As the spreadsheet numbers it, the header being row 1; None for the whole file or sheet.
    column, value : str
        The column and what stands there; empty when the whole row is meant.
    what, remedy : str
        What is wrong; what to do, with an example of an allowed value.
    """

    code: str
    severity: Severity
    file: str
    sheet: str
    row: int | None
    column: str
    value: str
    what: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Mend:
    """One thing read differently from how it was typed; the file itself is not changed.

    Parameters
    ----------
    file, sheet : str
    row : int or None
        None for the whole file or sheet.
    column : str
    was, now : str
        As typed, and as read.
    why : str
    """

    file: str
    sheet: str
    row: int | None
    column: str
    was: str
    now: str
    why: str


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one value, before it is known where it stands.

    Parameters
    ----------
    code, what, remedy : str
        As in `Problem`.
    severity : {'blocks analysis', 'look at this'}, default='blocks analysis'
    """

    code: str
    what: str
    remedy: str
    severity: Severity = BLOCKS

    def at(self, place: tuple[str, str, int | None], column: str, value: str) -> Problem:
        """Make the problem of this fault at a place (file, sheet, row)."""
        return Problem(self.code, self.severity, *place, column, value, self.what, self.remedy)


def _place(item: Problem | Mend) -> tuple[str, str, int, str]:
    return item.file, item.sheet, item.row or 0, item.column


def place_in_words(item: Problem | Mend) -> str:
    """Name file, sheet, row and column of an entry.

    Parameters
    ----------
    item : Problem or Mend

    Returns
    -------
    str
    """
    parts = [
        item.file,
        f"sheet {item.sheet}" if item.sheet else "",
        f"row {item.row}" if item.row else "",
        item.column,
    ]
    return ", ".join(part for part in parts if part)


def _listed(rows: list[int]) -> str:
    more = len(rows) - _ROWS_LISTED
    words = ", ".join(str(row) for row in rows[:_ROWS_LISTED])
    return f"{words} and {more} more" if more > 0 else words


@dataclass(frozen=True, slots=True)
class Report:
    """Everything found at once, sorted by file, sheet and row.

    `len(report)` counts the problems; a report is true when there is something to look at.

    Parameters
    ----------
    problems : tuple of Problem
    mends : tuple of Mend
    files : tuple of str
        The files that were read.
    rows : tuple of (table, number of rows)
    """

    problems: tuple[Problem, ...]
    mends: tuple[Mend, ...]
    files: tuple[str, ...]
    rows: tuple[tuple[str, int], ...]

    @classmethod
    def of(
        cls,
        problems: Iterable[Problem],
        mends: Iterable[Mend],
        files: Iterable[str],
        rows: Iterable[tuple[str, int]],
    ) -> "Report":
        """Sort the entries, leave out repeats, and keep them."""
        return cls(
            tuple(sorted(dict.fromkeys(problems), key=lambda p: (*_place(p), p.code))),
            tuple(sorted(dict.fromkeys(mends), key=_place)),
            tuple(files),
            tuple(rows),
        )

    def __len__(self) -> int:
        return len(self.problems)

    def __bool__(self) -> bool:
        return bool(self.problems)

    @property
    def blocks(self) -> bool:
        """Whether any problem must be put right before an analysis."""
        return any(problem.severity == BLOCKS for problem in self.problems)

    @property
    def summary(self) -> str:
        """One sentence on what was read and what was found."""
        rows = ", ".join(f"{name} {number}" for name, number in self.rows) or "none"
        blocking = sum(problem.severity == BLOCKS for problem in self.problems)
        return (
            f"Rows read: {rows}. Problems that block the analysis: {blocking}. "
            f"To look at: {len(self) - blocking}. Mended while reading: {len(self.mends)}."
        )

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, ready for JSON."""
        return {
            "blocks": self.blocks,
            "files": list(self.files),
            "rows": dict(self.rows),
            "problems": [asdict(problem) for problem in self.problems],
            "mends": [asdict(mend) for mend in self.mends],
        }

    def to_frame(self) -> "pd.DataFrame":
        """Return the problems, one a row, columns as in `Problem`."""
        import pandas as pd

        frame = pd.DataFrame(
            [asdict(problem) for problem in self.problems],
            columns=list(Problem.__dataclass_fields__),
        )
        return frame.astype({"row": "Int64"})

    def mends_frame(self) -> "pd.DataFrame":
        """Return the mends, one a row, columns as in `Mend`."""
        import pandas as pd

        frame = pd.DataFrame(
            [asdict(mend) for mend in self.mends], columns=list(Mend.__dataclass_fields__)
        )
        return frame.astype({"row": "Int64"})

    def to_text(self) -> str:
        """Return the whole report as plain text."""
        lines = [self.summary]
        for severity in (BLOCKS, LOOK):
            found = [problem for problem in self.problems if problem.severity == severity]
            if found:
                lines += ["", f"{severity.capitalize()} ({len(found)})"]
            for problem in found:
                lines.append(f"- {place_in_words(problem)}: {problem.what} {problem.remedy}")
        if self.mends:
            lines += ["", f"Mended while reading ({len(self.mends)}); your file is unchanged"]
        lines += [f"- {line}" for line in self.mends_in_words()]
        return "\n".join(lines)

    def mends_in_words(self) -> list[str]:
        """Return one sentence for each kind of mend in a column, with its rows."""
        groups: dict[Mend, list[int]] = {}
        for mend in self.mends:
            groups.setdefault(replace(mend, row=None), []).extend([mend.row] if mend.row else [])
        return [
            f"{place_in_words(mend)}: '{mend.was}' read as '{mend.now}' ({mend.why})"
            + (f", row{'s' if rows[1:] else ''} {_listed(rows)}" if rows else "")
            for mend, rows in groups.items()
        ]

    def to_html(self) -> str:
        """Return the whole report as an HTML fragment, every value escaped."""
        return self._rendered("report.html")

    def to_page(self) -> str:
        """Return the whole report as one self-contained HTML page."""
        return self._rendered("report-page.html")

    def _rendered(self, name: str) -> str:
        page = template("pmulab.tables", name)
        found = [
            (severity, [problem for problem in self.problems if problem.severity == severity])
            for severity in (BLOCKS, LOOK)
        ]
        return page.render(report=self, found=found, place=place_in_words)

    def _repr_html_(self) -> str:
        return self.to_html()

    def __str__(self) -> str:
        return self.to_text()
