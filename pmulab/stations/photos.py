"""The photos of a study and what was marked in them: taken in, listed, read, marked."""

import json
import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from pmulab.devices import is_device
from pmulab.disk import read_bytes, read_text
from pmulab.errors import UserError
from pmulab.photo.marks import Marks, marks_from_dict, marks_from_json
from pmulab.photo.reading import Pixels, clean_jpeg, read_photo
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened
from pmulab.study import Study
from pmulab.tables import find_identifiers

PHOTOS = "photos"
_ENDING, _MARKS = ".jpg", ".marks.json"
_TAKEN_IN = "photo taken in"
_CODE = re.compile(r"[A-Za-z0-9_-]{1,40}")


def take_photo(study: Opened, file: str | Path, code: str = "") -> Answer[str]:
    """Take a photo into the study under a code; place, time, device and name stay behind.

    Parameters
    ----------
    study : Study or path-like
    file : path-like
        A JPEG or PNG file; HEIC where the extra 'heic' is installed. It is only read.
    code : str, default=""
        Letters, digits, '-' and '_'; no name, no date, no arm. Drawn by chance if not given.

    Returns
    -------
    Answer
        Its value is the code.

    Raises
    ------
    UserError
        If the file is no photo, or the code is taken or tells a person.
    """
    path = Path(file).expanduser()
    try:
        return take_photo_bytes(study, read_bytes(path), code)
    except UserError as error:
        raise UserError(f"{path.name}: {error.what}", error.remedy) from None


def take_photo_bytes(study: Opened, content: bytes, code: str = "") -> Answer[str]:
    """Take in a photo that was chosen in the browser; see `take_photo`.

    Parameters
    ----------
    study : Study or path-like
    content : bytes
    code : str, default=""

    Returns
    -------
    Answer

    Raises
    ------
    UserError
        As `take_photo`.
    """
    folder = opened(study)
    clean = clean_jpeg(content)
    with folder.writing():
        chosen = code.strip() or _drawn_code(folder)
        _check_code(chosen)
        detail = {"photo": chosen, "content": sha256(clean).hexdigest()}
        name = f"{PHOTOS}/{chosen}{_ENDING}"
        if folder.file_hash(name) == detail["content"] and not _known(folder, detail):
            path = folder.path(name)  # a run was killed before the journal knew of it
        else:
            path = folder.keep(name, clean)
        folder.record(_TAKEN_IN, **detail)
    lines = (
        f"Taken in as {chosen}: only the picture itself, turned upright.",
        "Photos of eyes identify people. They stay in the studio; the file that you chose is "
        "where it was.",
    )
    return Answer(lines, chosen, (path,), {"photo": chosen})


def _known(study: Study, detail: Mapping[str, str]) -> bool:
    return any(
        one.event == _TAKEN_IN and detail.items() <= one.detail.items() for one in study.journal()
    )


def photos(study: Opened) -> Answer[tuple[str, ...]]:
    """List the photos of a study, and which of them are marked; writes nothing.

    Parameters
    ----------
    study : Study or path-like

    Returns
    -------
    Answer
        Its value holds the codes, in order.
    """
    folder = opened(study)
    codes = photo_codes(folder)
    lines = [f"{one}: {'marked' if has_marks(folder, one) else 'not marked yet'}" for one in codes]
    return Answer(tuple(lines or ["There are no photos yet."]), codes, data={"photos": list(codes)})


def mark_photo(study: Opened, code: str, marks: Mapping[str, Any]) -> Answer[Marks]:
    """Save what was marked in a photo, beside it; earlier marks are kept.

    Parameters
    ----------
    study : Study or path-like
    code : str
    marks : mapping
        As `Marks.to_json` writes them; size and fingerprint of the photo may be left out.

    Returns
    -------
    Answer
        Its value is the marks.

    Raises
    ------
    UserError
        If there is no such photo, or a mark cannot be.
    """
    folder = opened(study)
    blank = blank_marks(folder, code)
    where = f"{PHOTOS}/{code}{_MARKS}"
    known = {"width": blank.width, "height": blank.height, "photo": blank.photo}
    checked = marks_from_dict({**marks, **known}, where)
    with folder.writing():
        path = folder.renew(where, checked.to_json())
        folder.record("photo marked", photo=code, content=folder.file_hash(where))
    missing = [
        name
        for name, there in (
            ("the grey patch", checked.grey),
            ("the millimetre scale", checked.scale),
            ("the planned line", checked.line),
        )
        if not there
    ]
    rest = f" Still to mark: {', '.join(missing)}." if missing else ""
    return Answer((f"The marks of {code} are saved.{rest}",), checked, (path,))


def photo_codes(study: Study) -> tuple[str, ...]:
    """Give the codes of the photos in the folder, in order."""
    stems = (path.stem for path in study.path(PHOTOS).glob(f"*{_ENDING}"))
    return tuple(sorted(stem for stem in stems if _CODE.fullmatch(stem)))


def has_marks(study: Study, code: str) -> bool:
    """Tell whether a photo has marks."""
    return study.path(f"{PHOTOS}/{code}{_MARKS}").is_file()


def photo_bytes(study: Study, code: str) -> bytes:
    """Read the file of a photo.

    Raises
    ------
    UserError
        If there is no such photo.
    """
    path = study.path(f"{PHOTOS}/{code}{_ENDING}")
    if not _CODE.fullmatch(code) or not path.is_file():
        known = ", ".join(photo_codes(study)) or "none yet"
        raise UserError(
            f"There is no photo {code!r} in {study.path(PHOTOS)}.", f"The photos: {known}."
        )
    return read_bytes(path)


def read_marked(study: Study, code: str) -> tuple[Pixels, Marks]:
    """Read a photo and its marks.

    Raises
    ------
    UserError
        If either cannot be read, or the marks were made in another photo.
    """
    data = photo_bytes(study, code)
    where = f"{PHOTOS}/{code}{_MARKS}"
    marks = marks_from_json(read_text(study.path(where)), where)
    pixels = read_photo(data, f"{PHOTOS}/{code}{_ENDING}")
    same = marks.photo == sha256(data).hexdigest()
    if not same or pixels.shape[:2] != (marks.height, marks.width):
        raise UserError(
            f"{code}: the photo is not the one that was marked.",
            "Put the photo back from a copy, or mark it again.",
        )
    return pixels, marks


def blank_marks(study: Study, code: str) -> Marks:
    """Give marks without any mark, for the photo as it is now."""
    data = photo_bytes(study, code)
    height, width = read_photo(data, f"{PHOTOS}/{code}{_ENDING}").shape[:2]
    return Marks(width, height, sha256(data).hexdigest())


def marks_of(study: Study, code: str) -> Marks:
    """Give the saved marks of a photo, or blank ones."""
    blank = blank_marks(study, code)
    if not has_marks(study, code):
        return blank
    where = f"{PHOTOS}/{code}{_MARKS}"
    marks = marks_from_json(read_text(study.path(where)), where)
    fits = (marks.width, marks.height) == (blank.width, blank.height)
    return replace(marks, photo=blank.photo) if fits else blank


def _drawn_code(study: Study) -> str:
    taken = set(photo_codes(study))
    free: Sequence[str] = [f"P{n:04}" for n in range(10_000) if f"P{n:04}" not in taken]
    return secrets.choice(free)


def _check_code(code: str) -> None:
    if not _CODE.fullmatch(code) or is_device(code):
        raise UserError(
            f"{code!r} is no code for a photo.",
            "Use letters, digits, '-' and '_', such as P0517 or healed-C101-L.",
        )
    if find_identifiers(code):
        raise UserError(
            f"{code!r} looks like a date, a number or a name of a person.",
            "Use a code that means nothing, such as P0517, or let one be drawn.",
        )


def as_plain(marks: Marks) -> dict[str, Any]:
    """Give marks as plain data, ready for JSON."""
    plain: dict[str, Any] = json.loads(marks.to_json())
    return plain
