"""Chart consecutive clients: from a table of their own, or from a finished study."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import pandas as pd

from pmulab.disk import disk_error, read_text, typed, write_atomically, write_new
from pmulab.errors import UserError
from pmulab.folders import HOUR, made_aside, tidy
from pmulab.practice import Watched, held_back, rows_of, watch
from pmulab.sharing.practice_page import GENERATOR, practice_html
from pmulab.stations.analyse import FINISHED
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.opening import opened
from pmulab.study import PLAN
from pmulab.tables import Report, practice_workbook, read_practice
from pmulab.tables.guards import TEXT_SUFFIXES
from pmulab.wording import (
    from_study_words,
    line_lines,
    practice_fooled,
    practice_head,
    practice_next,
    shares_lines,
)

DEMO = "demo-practice"
TABLE = "practice"
PAGE = "practice-charts.html"
_NOTED = (
    "The check of the records left remarks, which name clients by their codes: they stand in the "
    "form or the terminal, not on this page."
)


@dataclass(frozen=True, slots=True)
class _Series:
    """Rows to chart, what was found while reading them, and what is to be said of them."""

    rows: pd.DataFrame
    report: Report
    about: tuple[str, ...]
    page: Path
    of_study: bool = False


def chart(place: str | Path = DEMO) -> Answer[Watched | None]:
    """Chart consecutive clients; the table itself is never changed.

    Parameters
    ----------
    place : path-like, default='demo-practice'
        A table of clients, a folder with one, or the folder of a finished study. A folder named
        'demo-practice' is made if it is not there; its clients are invented.

    Returns
    -------
    Answer
        Its value is what was found, written as practice-charts.html; None, and the problems,
        where the table has to be put right first.

    Raises
    ------
    UserError
        If there is no table, nobody is in it, or the study still runs.
    """
    series = _read(Path(place).expanduser())
    told = series.report.to_text().splitlines()
    if series.report.blocks:
        return Answer(tuple(told), None, data=series.report.to_dict(), found_problems=True)
    if series.rows.empty:
        raise UserError(
            f"No client is in the table of {place} yet.",
            "Write one row for each client, in the order of work.",
        )
    found = watch(series.rows)
    remarks = told if series.report or series.report.mends else []
    printed = [_NOTED] if series.of_study and remarks else remarks
    _write(series.page, practice_html(found, (*series.about, *printed)))
    about = (*series.about, *remarks)
    return Answer((*_lines(found), *about), found, (series.page,), {"practice": found.to_dict()})


def begin_practice(folder: str | Path) -> Answer[Path]:
    """Put a blank table of clients into a folder; never over one that is there.

    Parameters
    ----------
    folder : path-like
        Made if it is not there.

    Returns
    -------
    Answer
        Its value is the path of the workbook.

    Raises
    ------
    UserError
        If there is a table, or the folder cannot be written.
    """
    place = Path(folder).expanduser()
    tidy([place], older=HOUR)
    there = _tables_in(place) if place.is_dir() else []
    if there:
        raise UserError(
            f"{there[0]} is already there and is never overwritten.",
            "Type into it, or choose another folder.",
        )
    path = place / f"{TABLE}.xlsx"
    try:
        place.mkdir(parents=True, exist_ok=True)
        write_new(path, practice_workbook())
    except FileExistsError:
        raise UserError(
            f"{path} is already there and is never overwritten.",
            "Type into it, or choose another folder.",
        ) from None
    except OSError as error:
        raise disk_error(error, place) from None
    lines = (
        "A blank table of clients is ready: one row for each client, in the order of work. "
        "Nobody is left out; no names.",
        f"Then: pmulab chart {typed(place)}",
    )
    return Answer(lines, path, (path,))


def _read(place: Path) -> _Series:
    if place.name == DEMO:
        tidy([place.parent], f".{DEMO}.", HOUR)
        if not place.exists():
            _make_demo(place)
    if (place / PLAN).exists():
        return _study(place)
    table = place if place.is_file() else _only_table(place)
    practice, report = read_practice(table)
    return _Series(practice.rows, report, (), table.parent / PAGE)


def _study(place: Path) -> _Series:
    study = opened(place)
    ended = any(
        entry.event == "analysed" and entry.detail.get("way") == FINISHED
        for entry in study.journal()
    )
    if study.locked() is not None and not ended:
        raise UserError(
            f"The study in {place} still runs: its outcomes stay hidden until it is analysed.",
            "Chart clients outside the study from a table of their own: "
            "pmulab chart FOLDER --begin",
        )
    records, report = records_of(study)
    plan = study.plan()
    rows = rows_of(plan, records)
    about = tuple(from_study_words(plan.study.title, held_back(records)))
    return _Series(rows, report, about, place / PAGE, of_study=True)


def _only_table(place: Path) -> Path:
    found = _tables_in(place) if place.is_dir() else []
    if not found:
        raise UserError(
            f"There is no table of clients in {place}: no {TABLE}.xlsx and no {TABLE}.csv.",
            f"Make a blank one: pmulab chart {typed(place)} --begin",
        )
    if len(found) > 1:
        names = " and ".join(path.name for path in found)
        raise UserError(
            f"{place} holds {names}; it is not clear which one counts.",
            "Move one of them away, or name the file itself.",
        )
    return found[0]


def _tables_in(place: Path) -> list[Path]:
    named = (place / f"{TABLE}{suffix}" for suffix in (".xlsx", *TEXT_SUFFIXES))
    return [path for path in named if path.exists()]


def _make_demo(place: Path) -> None:
    text = files("pmulab.demo").joinpath("practice.csv").read_text(encoding="utf-8")
    with made_aside(place) as made:
        made.mkdir()
        write_atomically(made / f"{TABLE}.csv", text)


def _write(path: Path, page: str) -> None:
    """Write the page over an older one of its kind, and over nothing else."""
    if path.exists() and f'content="{GENERATOR}"' not in read_text(path):
        raise UserError(
            f"{path} is not from pmulab and is never overwritten.",
            "Give it another name, then chart again. Nothing was changed.",
        )
    try:
        tidy([path.parent], older=HOUR)
        write_atomically(path, page)
    except OSError as error:
        raise disk_error(error, path) from None


def _lines(found: Watched) -> Iterator[str]:
    yield from practice_head(found)
    for line in found.lines:
        yield from line_lines(line)
    for shares in found.shares:
        yield from shares_lines(shares)
    yield from practice_fooled(found)
    yield from practice_next(found)
