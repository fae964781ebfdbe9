"""Pool the packs of a study group: harm first, then what the studies say together."""

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path

from pmulab import __version__
from pmulab.analysis.pooling import pool as put_together
from pmulab.analysis.registered import with_states
from pmulab.counting import counted
from pmulab.disk import disk_error, read_bytes
from pmulab.errors import UserError
from pmulab.findings.pooled import PooledFindings, SetAside
from pmulab.packs.many import ALONE, Taken, find_packs, read_packs
from pmulab.packs.register import Register, read_register
from pmulab.sharing.pooled import MARK, pooled_html
from pmulab.stations.answer import Answer
from pmulab.study import write_atomically
from pmulab.wording import (
    check_lines,
    elsewhere_lines,
    footnote_lines,
    pooled_certainty,
    pooled_finding,
    registered_words,
    safety_lines,
    spread_lines,
)

REPORT, FINDINGS = "pooled-report.html", "pooled-findings.json"
_BEGINS = {REPORT: MARK.encode(), FINDINGS: b'{\n "question": {'}
_TOLD = 10

Places = str | Path | Sequence[str | Path]


def pool(
    packs: Places, group: str | Path = "", to: str | Path = "", as_of: str = ""
) -> Answer[PooledFindings]:
    """Put the packs of one question together and write the pooled report.

    Parameters
    ----------
    packs : path-like or sequence of path-like
        Packs, or folders that hold some.
    group : path-like, default=''
        The group's shared folder with its register.
    to : path-like, default=''
        Folder for the report; the group's folder if not given, else this one.
    as_of : str, default=''
        Day on which studies count as overdue, ISO 8601; today if not given.

    Returns
    -------
    Answer
        Its value holds the pooled findings. A bad pack is set aside with its reason.

    Raises
    ------
    UserError
        If no pack can be used, the packs ask different questions, or the report would be
        written over a file that is not one.
    """
    places = [packs] if isinstance(packs, (str, Path)) else list(packs)
    today = _day(as_of)
    paths = find_packs(places)
    good, bad = read_packs(paths, _progress)
    if not good:
        raise UserError(
            "No pack could be read. " + " ".join(f"{one.label}: {one.why}" for one in bad[:_TOLD]),
            "Name packs (*.zip) or a folder with packs; ask their studios for new ones.",
        )
    known = read_register(Path(group).expanduser()) if group else Register()
    entries = with_states(known.entries, good, today)
    found = put_together(
        good, entries, made=today.isoformat(), software=f"pmulab {__version__}",
        also_aside=[*bad, *known.set_aside],
    )  # fmt: skip
    folder = Path(to or group or ".").expanduser()
    text = found.to_json()
    files = (
        _remade(folder / REPORT, pooled_html(found)),
        _remade(folder / FINDINGS, text),
    )
    return Answer(tuple(_lines(found)), found, files, {"pooled": json.loads(text)})


def _lines(found: PooledFindings) -> Iterator[str]:
    if found.question.invented:
        yield "Invented data for demonstration."
    yield registered_words(found)
    for entry in found.register:
        if entry.days_overdue:
            other = " (another question)" if entry.other_question else ""
            late = counted(entry.days_overdue, "day")
            yield f"Never reported: {entry.code}{other}, {late} overdue."
    yield from safety_lines(found.safety)
    yield from elsewhere_lines(found)
    yield pooled_finding(found)
    yield pooled_certainty(found)
    yield from spread_lines(found)
    yield from check_lines(found)
    yield from footnote_lines(found)
    yield from found.flags
    yield from _aside(found.set_aside)


def _aside(set_aside: Sequence[SetAside]) -> Iterator[str]:
    for one in set_aside[:_TOLD]:
        yield f"Set aside: {one.label}: {one.why}"
    if len(set_aside) > _TOLD:
        yield f"And {len(set_aside) - _TOLD} more set aside; the report lists them."


def _progress(items: Iterable[Taken], total: int) -> Iterable[Taken]:
    """Show how far the reading has come, where it takes more than a moment."""
    if total <= ALONE:
        return items
    from rich.console import Console
    from rich.progress import track

    return track(items, "Reading packs", total, console=Console(stderr=True))


def _remade(path: Path, text: str) -> Path:
    try:
        if path.exists() and not read_bytes(path).startswith(_BEGINS[path.name]):
            raise UserError(
                f"{path} is there and is no pooled report of pmulab.",
                "It stays as it is: move it away, or name another folder (--to).",
            )
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(path, text)
    except OSError as error:
        raise disk_error(error, path) from None
    return path


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip()) if text else date.today()
    except ValueError:
        raise UserError(f"{text!r} is no day.", "Write it as 2026-03-01.") from None
