"""Which files hold the tables, and whether a file may be opened at all.

Nothing is unpacked or parsed before these guards have passed; nothing is ever written.
"""

import re
import zipfile
import zlib
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from pmulab.tables.fields import TABLE_NAMES
from pmulab.tables.report import BLOCKS, LOOK, Problem, Severity
from pmulab.tables.unfolding import unfolds

MOST_BYTES = 20_000_000
MOST_UNPACKED = 50_000_000
MOST_RATIO = 200
TEXT_SUFFIXES = (".csv", ".txt", ".tsv")
WORKBOOK = "records"
SCORED = "scoring/round-*/healed-round-*.csv"
"""Where the healed rows of blind scoring rounds lie in a study folder."""
SCORED_NAME = re.compile(r"scoring/(round-\d\d+)/healed-\1\.csv")
"""Their names, without second copies that a program for shared folders may have made."""

_OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ZIP = b"PK\x03\x04"
_FOREIGN = (".xls", ".xlsm", ".xlsb", ".ods", ".numbers")
_AS_WORKBOOK = "Save it as an Excel workbook (.xlsx) and check again."


@dataclass(frozen=True, slots=True)
class Source:
    """One file that may be read: its name as shown and its bytes."""

    name: str
    suffix: str
    content: bytes


def file_problem(
    code: str, name: str, what: str, remedy: str, severity: Severity = BLOCKS
) -> Problem:
    """Make a problem of a whole file.

    Parameters
    ----------
    code, name, what, remedy : str
        As in `Problem`; `name` is the file.
    severity : {'blocks analysis', 'look at this'}

    Returns
    -------
    Problem
    """
    return Problem(code, severity, name, "", None, "", "", what, remedy)


def open_source(path: Path) -> Source | Problem:
    """Read a file's bytes if it may be read.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Source or Problem
    """
    name = path.name
    try:
        if not path.is_file():
            return file_problem(
                "file_missing", name, f"There is no file '{name}'.", "Check the name and folder."
            )
        if path.stat().st_size > MOST_BYTES:
            return file_problem(
                "too_large",
                name,
                f"'{name}' is larger than 20 MB; a table of a study is never that large.",
                "Take photos and other sheets out of it, save and check again.",
            )
        content = path.read_bytes()
    except OSError as error:
        return file_problem(
            "cannot_open",
            name,
            f"'{name}' cannot be opened ({error.strerror or 'no reason given'}).",
            "Close it in your spreadsheet program, see that it is on this computer, and try again.",
        )
    source = Source(name, path.suffix.casefold(), content)
    return _refusal(source) or source


def _refusal(source: Source) -> Problem | None:
    name, content = source.name, source.content
    if not content.strip():
        return file_problem(
            "empty_file", name, f"'{name}' is empty.", "Start from the template and fill it in."
        )
    if content.startswith(_OLD_OR_LOCKED):
        return file_problem(
            "locked_or_old_workbook",
            name,
            f"'{name}' is protected with a password or in the old Excel format (.xls).",
            "Open it, take the password off. " + _AS_WORKBOOK,
        )
    if source.suffix == ".xlsx":
        return _workbook_refusal(source)
    if source.suffix in TEXT_SUFFIXES:
        return _text_refusal(source)
    return file_problem(
        "wrong_kind_of_file",
        name,
        f"'{name}' is of a kind that is not read ({source.suffix or 'no ending'}).",
        _AS_WORKBOOK,
    )


def _text_refusal(source: Source) -> Problem | None:
    name, content = source.name, source.content
    if content.startswith(_ZIP):
        return file_problem(
            "wrong_suffix",
            name,
            f"'{name}' is named like a text table but is a workbook or archive inside.",
            "Rename it so that it ends in .xlsx, or save it as CSV.",
        )
    utf16 = content[:2] in (b"\xff\xfe", b"\xfe\xff")
    if b"\0" in content and not utf16:
        return file_problem(
            "not_text",
            name,
            f"'{name}' is not a text table; it holds bytes that no text has.",
            "Save the table again as 'CSV UTF-8'.",
        )
    return None


def _workbook_refusal(source: Source) -> Problem | None:
    name = source.name
    if not source.content.startswith(_ZIP):
        return file_problem(
            "wrong_suffix",
            name,
            f"'{name}' ends in .xlsx but is no Excel workbook inside.",
            "If it is a text table, rename it so that it ends in .csv. Otherwise: " + _AS_WORKBOOK,
        )
    try:
        with zipfile.ZipFile(BytesIO(source.content)) as archive:
            refused = _parts_refusal(name, archive.infolist())
            if refused is None and any(map(unfolds, map(archive.read, archive.namelist()))):
                return broken_workbook(name)
    except (zipfile.BadZipFile, NotImplementedError, ValueError, OSError, zlib.error):
        return broken_workbook(name)
    return refused


def broken_workbook(name: str) -> Problem:
    """Say that a workbook cannot be read.

    Parameters
    ----------
    name : str

    Returns
    -------
    Problem
    """
    return file_problem(
        "broken_workbook",
        name,
        f"'{name}' is damaged; it cannot be read as an Excel workbook.",
        "Open it in your spreadsheet program, let it repair the file, and save it under this name.",
    )


def _parts_refusal(name: str, parts: list[zipfile.ZipInfo]) -> Problem | None:
    names = {part.filename.casefold() for part in parts}
    unpacked = sum(part.file_size for part in parts)
    packed = max(1, sum(part.compress_size for part in parts))
    if unpacked > MOST_UNPACKED or unpacked / packed > MOST_RATIO:
        return file_problem(
            "unpacks_too_large",
            name,
            f"'{name}' is small but would unpack to {unpacked / 1e6:.0f} MB; it is not opened.",
            "Copy your rows into a fresh template. If the file came from someone else, ask them.",
        )
    if any(part.flag_bits & 1 for part in parts):
        return file_problem(
            "locked_or_old_workbook",
            name,
            f"'{name}' is protected with a password.",
            "Open it, take the password off. " + _AS_WORKBOOK,
        )
    if "xl/workbook.xml" not in names:
        return file_problem(
            "not_a_workbook", name, f"'{name}' is no Excel workbook inside.", _AS_WORKBOOK
        )
    if any("vbaproject" in part for part in names):
        return file_problem(
            "holds_macros",
            name,
            f"'{name}' holds macros (small programs), which a table never needs.",
            "Save it as a workbook without macros (.xlsx) and check again.",
        )
    if any(part.startswith("xl/externallinks/") for part in names):
        return file_problem(
            "links_to_other_files",
            name,
            f"'{name}' takes values from other files; those values cannot be checked.",
            "Copy the cells and paste them as values, save and check again.",
        )
    return None


def _is_copy(stem: str) -> bool:
    """Whether a file name looks like a second version of a table."""
    words = re.sub(r"[^a-z0-9]+", " ", stem).split()
    own = {WORKBOOK, *TABLE_NAMES}
    if not words or stem in own:
        return False
    marks = {"copy", "conflict", "conflicted", "kopie", "old", "backup", "version", "final", "new"}
    return bool(own & set(words)) and all(
        word in own or word in marks or word.isdigit() or bool(marks & set(words)) for word in words
    )


def find_sources(folder: Path) -> tuple[list[Path], list[Problem]]:
    """Name the files of a study folder that hold tables, and those left unread.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    tuple of (list of Path, list of Problem)
        The workbook first, then text tables.
    """
    found: list[Path] = []
    problems: list[Problem] = []
    for path in sorted(folder.iterdir(), key=lambda p: p.name):
        stem, suffix = path.stem.casefold(), path.suffix.casefold()
        known = suffix in (".xlsx", *TEXT_SUFFIXES, *_FOREIGN) and path.is_file()
        if path.name.startswith(("~$", ".~lock.")):
            problems += _lock_problem(path)
        elif known and stem in (WORKBOOK, *TABLE_NAMES) and (stem != WORKBOOK or suffix != ".csv"):
            found.append(path)
        elif known and _is_copy(stem):
            problems.append(
                file_problem(
                    "copy_not_read",
                    path.name,
                    f"'{path.name}' looks like a second version of a table and was not read.",
                    "Bring the rows you need into one file and move the other one elsewhere.",
                    LOOK,
                )
            )
    found.sort(key=lambda p: (p.suffix.casefold() != ".xlsx", p.name))
    scored = (path.relative_to(folder).as_posix() for path in folder.glob(SCORED))
    known_rows = sorted(name for name in scored if SCORED_NAME.fullmatch(name))
    return [*found, *(folder / name for name in known_rows)], problems


def _lock_problem(path: Path) -> list[Problem]:
    of = path.name.removeprefix("~$").removeprefix(".~lock.").removesuffix("#")
    if Path(of).stem.casefold() not in (WORKBOOK, *TABLE_NAMES):
        return []
    return [
        file_problem(
            "open_elsewhere",
            path.name,
            f"'{of}' seems to be open in a spreadsheet program; only what was saved was read.",
            "Save and close it there, then check again.",
            LOOK,
        )
    ]
