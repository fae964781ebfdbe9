"""The list of the clients who were asked, clients.csv: read, grown, held against the journal.

The list is also opened in spreadsheets and editors, which move columns, change the separator or
drop the last line end. A new row follows the form that the file has now.
"""

import csv
import io
import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

from pmulab.disk import decoded
from pmulab.entries import AMENDED, JOURNAL, Entry
from pmulab.errors import UserError

ENROLLED = "clients.csv"
_CODE, _ELIGIBLE = "client_code", "eligible"
ANSWERS = "answers"
"""Where the line of a client holds the fingerprint of her row."""
_LATER = "consent_withdrawn"
_ASKED = {"client enrolled": True, "client not enrolled": False}
_REMEDY = "Nothing was changed. Put {} back from a copy, or give it its columns again."


@dataclass(frozen=True, slots=True)
class Asked:
    """The clients who were asked, as their file holds them.

    Parameters
    ----------
    names : sequence of str
        Columns, in the file's own order.
    separator : str
        Comma, semicolon or tab.
    rows : sequence of mapping of str to str
    """

    names: tuple[str, ...] = ()
    separator: str = ","
    rows: tuple[Mapping[str, str], ...] = ()

    def row(self, code: str) -> Mapping[str, str] | None:
        """Give the row of a client, None if there is none."""
        return next((row for row in self.rows if row[_CODE] == code), None)

    def waiting(self, entries: Sequence[Entry]) -> tuple[tuple[int, str], ...]:
        """List place and code of clients who take part and whose card was not opened.

        Parameters
        ----------
        entries : sequence of Entry
            The journal.

        Returns
        -------
        sequence of (int, str)
        """
        known = {entry.detail.get(_CODE) for entry in entries if entry.event in _ASKED}
        return tuple(
            (place, row[_CODE])
            for place, row in enumerate(self.rows, start=2)
            if _takes_part(row) and row[_CODE] not in known
        )


def read_asked(data: bytes, where: str = ENROLLED) -> Asked:
    """Read the list.

    Parameters
    ----------
    data : bytes
        Content of the file; nothing for a list that was not begun.
    where : str
        File name used in messages.

    Returns
    -------
    Asked

    Raises
    ------
    UserError
        If it is no text, or no table of clients.
    """
    text = decoded(data, where)
    if not text.strip():
        return Asked()
    head = text.splitlines()[0]
    separator = max(",;\t", key=head.count)
    try:
        table = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        raise UserError(f"{where} cannot be read as a table.", _REMEDY.format(where)) from None
    names = tuple(name.strip() for name in table[0])
    if _CODE not in names or len(set(names)) < len(names):
        raise UserError(
            f"{where} has no column {_CODE}, or two columns of one name.", _REMEDY.format(where)
        )
    rows = [_row(names, cells) for cells in table[1:] if any(cell.strip() for cell in cells)]
    return Asked(names, separator, tuple(rows))


def with_row(
    data: bytes, names: Sequence[str], row: Mapping[str, str], where: str = ENROLLED
) -> bytes:
    """Add a client at the end of the list, in the form that the list has now.

    Parameters
    ----------
    data : bytes
        Content of the file.
    names : sequence of str
        Columns of a list that was not begun.
    row : mapping of str to str
    where : str
        File name used in messages.

    Returns
    -------
    bytes
        Begins with `data`, unless that was blank.

    Raises
    ------
    UserError
        If the list has lost a column that the row needs.
    """
    known = read_asked(data, where)
    data = data if known.names else b""
    columns = known.names or tuple(names)
    lost = [name for name, value in row.items() if value and name not in columns]
    if lost:
        raise UserError(f"{where} has lost the column {', '.join(lost)}.", _REMEDY.format(where))
    ending = "\r\n" if b"\r\n" in data else "\n"
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=known.separator, lineterminator=ending)
    if not known.names:
        writer.writerow(columns)
    writer.writerow([row.get(name, "") for name in columns])
    joint = "" if not data or data.endswith((b"\n", b"\r")) else ending
    return data + (joint + out.getvalue()).encode()


def disagreements(asked: Asked, entries: Sequence[Entry], names: Collection[str]) -> Iterator[str]:
    """Say where the list and the journal differ, without any client's code.

    Parameters
    ----------
    asked : Asked
    entries : sequence of Entry
    names : sequence of str
        As in `row_fingerprint`.

    Yields
    ------
    str
    """
    changed = changed_answers(asked, entries, names)
    for entry in entries:
        if entry.event not in _ASKED:
            continue
        row = asked.row(entry.detail[_CODE])
        if row is None:
            yield f"{ENROLLED} lacks the client of {JOURNAL}, line {entry.number}."
        elif _takes_part(row) != _ASKED[entry.event]:
            yield f"{ENROLLED} and {JOURNAL}, line {entry.number}, differ on who takes part."
        elif entry.detail[_CODE] in changed:
            yield (
                f"{ENROLLED}: the answers of the client of {JOURNAL}, line {entry.number}, are "
                "not those that were saved."
            )
    for place, _ in asked.waiting(entries):
        yield f"{ENROLLED}, row {place}: {JOURNAL} holds no card for this client."


def row_fingerprint(row: Mapping[str, str], names: Collection[str]) -> str:
    """Give the fingerprint of a client's answers, whatever form the list has.

    Parameters
    ----------
    row : mapping of str to str
    names : sequence of str
        Columns that the kit asks for; further ones are the user's own.

    Returns
    -------
    str
        SHA-256. A consent that is taken back later does not change it.
    """
    asked = sorted(name for name in names if name != _LATER)
    kept = [(name, row[name].strip()) for name in asked if row.get(name, "").strip()]
    return sha256(json.dumps(kept).encode()).hexdigest()


def changed_answers(
    asked: Asked, entries: Sequence[Entry], names: Collection[str]
) -> dict[str, str]:
    """Find the clients whose answers are not those that were saved or amended last.

    Parameters
    ----------
    asked : Asked
    entries : sequence of Entry
    names : sequence of str
        As in `row_fingerprint`.

    Returns
    -------
    dict of str to str
        Fingerprint of the row as it is now, by code.
    """
    saved: dict[str, str] = {}
    for entry in entries:
        if entry.event in _ASKED and ANSWERS in entry.detail:
            saved[entry.detail[_CODE]] = entry.detail[ANSWERS]
        elif entry.event == AMENDED:
            saved |= entry.detail[ANSWERS]
    now = {row[_CODE]: row_fingerprint(row, names) for row in asked.rows}
    return {code: now[code] for code in saved if code in now and now[code] != saved[code]}


def differing(known: Mapping[str, str], row: Mapping[str, str]) -> Collection[str]:
    """Name the answers in which a saved row differs from a new one.

    Parameters
    ----------
    known, row : mapping of str to str

    Returns
    -------
    sequence of str
    """
    return [name for name, value in row.items() if known.get(name, "") != value]


def _row(names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    full = [*(cell.strip() for cell in cells), *[""] * (len(names) - len(cells))]
    row = dict(zip(names, full, strict=False))
    return row | {_CODE: row[_CODE].upper()}


def _takes_part(row: Mapping[str, str]) -> bool:
    return row.get(_ELIGIBLE, "").lower() == "yes"
