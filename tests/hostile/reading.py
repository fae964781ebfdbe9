"""The readers that meet files from outside, each with a real file and what a refusal has to say."""

import csv
import io
import json
import random
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hostile import mutating
from pmulab.errors import UserError


@dataclass(frozen=True, slots=True)
class Reader:
    """One kind of file: real examples, how it is damaged, and what reads it.

    Parameters
    ----------
    file : str
        Name of the file; a refusal has to name it.
    places : tuple of str
        A refusal of a text has to hold one of these, so that the place is found.
    """

    file: str
    examples: Callable[[], tuple[bytes, ...]]
    damage: Callable[[random.Random, bytes], bytes]
    read: Callable[[Path], Any]
    places: tuple[str, ...] = ()


def fault_of(reader: Reader, path: Path) -> str:
    """Read a file; '' when it was read or refused as it should be, else what is wrong."""
    try:
        told = reader.read(path)
    except UserError as error:
        return _lacking(reader, error.what, error.remedy)
    except Exception as error:
        return f"{type(error).__name__}: {str(error)[:200]}"
    return _reported(reader, told)


def _lacking(reader, what, remedy):
    if reader.file not in what:
        return f"names no file: {what[:200]}"
    if not remedy.strip():
        return f"no remedy: {what[:200]}"
    if reader.places and not any(place in what for place in reader.places):
        return f"names no place: {what[:200]}"
    return ""


def _reported(reader, told):
    """Look through problems that are returned instead of raised."""
    for problem in told if isinstance(told, list) else []:
        if problem.code == "cannot_read":
            return "cannot_read: an error nobody foresaw was swallowed"
        if not problem.file or not problem.what or not problem.remedy:
            return f"{problem.code}: file, words or remedy are missing"
    return ""


def case(kind: str, number: int) -> bytes:
    """Make the file of a case again by its number."""
    rng = random.Random(f"{kind} {number}")
    reader = READERS[kind]
    return reader.damage(rng, rng.choice(reader.examples()))


# Real files, made once in each process.


@cache
def _study():
    from scored import answers, prepared

    folder = TemporaryDirectory(prefix="pmulab-hostile-")
    study, one, key = prepared(Path(folder.name) / "study", clients=4)
    return folder, study, one, key, json.dumps(answers(study, one)).encode()


def _file(name):
    return lambda: (_study()[1].path(name).read_bytes(),)


@cache
def _plans():
    from importlib.resources import files

    demo = files("pmulab.demo").joinpath("plan.toml").read_bytes()
    return (demo, _study()[1].path("plan.toml").read_bytes())


@cache
def _tables():
    from pmulab.stations.opening import expected

    return expected(_study()[1])


@cache
def _csv_tables(name):
    from openpyxl import load_workbook

    book = load_workbook(_study()[1].path("records.xlsx"), read_only=True)
    sheet = next(s for s in book.worksheets if s.title.casefold() == name)
    out = io.StringIO(newline="")
    csv.writer(out).writerows(
        ["" if cell is None else cell for cell in row] for row in sheet.iter_rows(values_only=True)
    )
    return (out.getvalue().encode(),)


def _read_tables(path):
    from pmulab.tables.checking import read_and_check

    return list(read_and_check(path, _tables())[1].problems)


@cache
def _practice_files():
    from importlib.resources import files

    from pmulab.tables.practice import practice_workbook

    return files("pmulab.demo").joinpath("practice.csv").read_bytes(), practice_workbook()


def _read_practice(path):
    from pmulab.tables.practice import read_practice

    return list(read_practice(path)[1].problems)


def _read_plan(path):
    from pmulab.disk import read_text
    from pmulab.plan import read_plan

    plan = read_plan(read_text(path), str(path))
    plan.tables()
    return plan


def _enrol_answers():
    from studies import ANSWERS

    return ("".join(f'{name} = "{value}"\n' for name, value in ANSWERS.items()).encode(),)


def _read_enrol_answers(path):
    from pmulab.cli.app import answers_of
    from pmulab.tables.answers import read_answers

    read_answers(_tables().tables["clients"], {**answers_of([], path), "client_code": "C101"})


def _read_scores(path):
    from pmulab.disk import read_bytes
    from pmulab.scoring.answers import read_answer_file

    return read_answer_file(read_bytes(path), _expected(), str(path))


@cache
def _expected():
    _, study, one, _, _ = _study()
    return one.expected(study)


def _read_journal(path):
    from pmulab.journal import read_journal

    return [*read_journal(path).changes()] and None


def _unseal(path):
    from pmulab.allocation import unseal
    from pmulab.disk import read_text

    return unseal(read_text(path), str(path))


def _read_asked(path):
    from pmulab.disk import read_bytes
    from pmulab.enrolment import disagreements, read_asked

    asked = read_asked(read_bytes(path), str(path))
    study = _study()[1]
    names = study.plan().tables()["clients"].names
    return [*disagreements(asked, study.journal(), names)] and None


def _open_key(path):
    from pmulab.disk import read_text
    from pmulab.scoring.rounds import open_key

    return open_key(read_text(path), _study()[2].secret, str(path))


@cache
def _packs():
    import packs_builder as build

    return (build.packed(),)


def _pack(rng, data):
    """Damage a pack: its bytes, or a file in it, with its fingerprint put right or not."""
    import packs_builder as build

    if rng.random() < 0.15:
        return mutating.binary(rng, data)
    parts = mutating.members(data)
    name = rng.choice(list(parts))
    parts[name] = mutating.text(rng, parts[name])
    try:
        return build.resealed(parts) if rng.random() < 0.85 else build.zipped(parts)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return build.zipped(parts)


def _read_pack(path):
    from pmulab.packs.reading import read_pack

    return read_pack(path)


@cache
def _findings():
    import packs_builder as build

    return tuple(studio.findings.to_json().encode() for studio in build.group().values())[:2]


def _read_findings(path):
    from pmulab.disk import read_text
    from pmulab.findings import read_findings

    return read_findings(read_text(path), str(path))


@cache
def _photos():
    from scored import photo

    kinds = [photo(1), photo(2, kind="PNG")]
    try:
        from pillow_heif import register_heif_opener

        register_heif_opener()
        kinds.append(photo(3, kind="HEIF"))
    except ImportError:
        pass
    return tuple(kinds)


def _read_photo(path):
    from pmulab.disk import read_bytes
    from pmulab.photo.dating import camera_day
    from pmulab.photo.reading import clean_jpeg

    data = read_bytes(path)
    camera_day(data)
    clean_jpeg(data, where=path.name, longest=64)


def _marks():
    from pmulab.photo.marks import Line, Marks, Scale

    square = ((10.0, 10.0), (60.0, 10.0), (60.0, 60.0), (10.0, 60.0))
    line = Line(((100.0, 200.0), (300.0, 180.0), (500.0, 210.0)), 1.2)
    scale = Scale((100.0, 400.0), (500.0, 400.0), 20.0)
    marks = Marks(800, 600, sha256(b"photo").hexdigest(), "thin_line", square, 50.0, scale, line)
    return (marks.to_json().encode(),)


def _read_marks(path):
    from pmulab.disk import read_text
    from pmulab.photo.marks import marks_from_json

    return marks_from_json(read_text(path), str(path))


@cache
def _entries():
    from pmulab.findings.pooled import Registered
    from pmulab.packs.register import announce

    told = ("Does a damp wipe keep more?", "Segments kept", "segments", 1.0, 12)
    entry = Registered("wipes", "a" * 64, *told, "2026-01-05", "2026-08-05")
    with TemporaryDirectory() as folder:
        return (announce(Path(folder), entry).read_bytes(),)


def _read_register(path):
    from pmulab.packs.register import read_register

    for one in read_register(path.parent.parent).set_aside:
        raise UserError(f"{one.label}: {one.why}", "as told")


_TEXT = mutating.text
READERS = {
    "plan": Reader("plan.toml", _plans, _TEXT, _read_plan, ("line ", "UTF-8")),
    "workbook": Reader("records.xlsx", _file("records.xlsx"), mutating.workbook, _read_tables),
    "clients table": Reader(
        "clients.csv", lambda: _csv_tables("clients"), _TEXT, _read_tables
    ),
    "sessions table": Reader(
        "sessions.csv", lambda: _csv_tables("sessions"), _TEXT, _read_tables
    ),
    "events table": Reader("events.csv", lambda: _csv_tables("events"), _TEXT, _read_tables),
    "practice table": Reader(
        "practice.csv", lambda: _practice_files()[:1], _TEXT, _read_practice
    ),
    "practice workbook": Reader(
        "practice.xlsx", lambda: _practice_files()[1:], mutating.workbook, _read_practice
    ),
    "enrol answers": Reader(
        "answers.toml", _enrol_answers, _TEXT, _read_enrol_answers, ("line ", "UTF-8")
    ),
    "score answers": Reader("R1.json", lambda: (_study()[4],), _TEXT, _read_scores),
    "scoring key": Reader("key.json", _file("scoring/round-01/key.json"), _TEXT, _open_key),
    "list of clients": Reader("clients.csv", _file("clients.csv"), _TEXT, _read_asked),
    "allocation": Reader("allocation.csv", _file("allocation.csv"), _TEXT, _unseal),
    "journal": Reader(
        "journal.jsonl", _file("journal.jsonl"), _TEXT, _read_journal, ("line ",)
    ),
    "pack": Reader("pack.zip", _packs, _pack, _read_pack),
    "findings": Reader(
        "findings.json", _findings, _TEXT, _read_findings, ("(at ", "format", "UTF-8")
    ),
    "photo": Reader("photo.jpg", _photos, mutating.binary, _read_photo),
    "photo marks": Reader("P1.marks.json", _marks, _TEXT, _read_marks),
    "register entry": Reader(f"wipes.{'a' * 16}.toml", _entries, _TEXT, _read_register),
}  # fmt: skip
