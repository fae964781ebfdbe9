"""Which eyelid a photo shows: read from its file name alone."""

import re
from dataclasses import dataclass
from datetime import date
from pathlib import PurePath

from pmulab.allocation import Side
from pmulab.tables.report import BLOCKS, Problem

ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
EXAMPLE = "C042_L_1.jpg"
_NAME = re.compile(
    r"(?P<code>C\d{3})[ _-](?P<side>[LR])[ _-](?P<visit>\d{1,2})"
    r"(?:[ _-](?P<day>\d{4}-\d{2}-\d{2}))?",
    re.IGNORECASE,
)
_REMEDY = (
    f"Name it like {EXAMPLE}: the client's code, L or R for her own left or right, and the healed "
    "visit (1, 2, ...). The date may follow: C042_L_1_2026-04-12.jpg. Never a name."
)


@dataclass(frozen=True, slots=True)
class Photo:
    """One healed photo of one eyelid.

    Parameters
    ----------
    file : str
        Its name; only shown to whoever prepares the round.
    client_code : str
    side : {'L', 'R'}
        The client's own.
    visit_no : int
        Healed visit, from 1.
    day : str, default=""
        ISO 8601 date of the photo; '' when it is not known.
    """

    file: str
    client_code: str
    side: Side
    visit_no: int
    day: str = ""

    @property
    def key(self) -> tuple[str, Side, int]:
        """What may be there once: client, side and visit."""
        return self.client_code, self.side, self.visit_no


def read_photo_name(name: str) -> Photo | Problem:
    """Read what a photo shows from its file name.

    Parameters
    ----------
    name : str
        Such as 'C042_L_1.jpg' or 'c042-R-1 2026-04-12.HEIC'.

    Returns
    -------
    Photo or Problem
    """
    found = _NAME.fullmatch(PurePath(name).stem.strip())
    if found is None:
        told = f"The name of the photo '{name}' does not say which eyelid it shows."
        return photo_problem("photo_name", name, told, _REMEDY)
    day = found["day"] or ""
    try:
        if day:
            date.fromisoformat(day)
    except ValueError:
        return photo_problem("photo_date", name, f"There is no day {day}.", _REMEDY)
    visit = int(found["visit"])
    if not 1 <= visit <= 20:
        told = f"Healed visit {visit} cannot be: visits count from 1 to 20."
        return photo_problem("photo_visit", name, told, _REMEDY)
    side: Side = "L" if found["side"].upper() == "L" else "R"
    return Photo(name, found["code"].upper(), side, visit, day)


def doubled(photos: list[Photo]) -> list[Problem]:
    """Point to photos of the same eyelid at the same visit.

    Parameters
    ----------
    photos : list of Photo

    Returns
    -------
    list of Problem
    """
    first: dict[tuple[str, Side, int], Photo] = {}
    found = []
    for photo in photos:
        before = first.setdefault(photo.key, photo)
        if before is not photo:
            told = f"'{photo.file}' and '{before.file}' are of the same eyelid and visit."
            remedy = "Keep one of them in the folder; which one is chosen before any scoring."
            found.append(photo_problem("photo_twice", photo.file, told, remedy))
    return found


def photo_problem(code: str, file: str, what: str, remedy: str) -> Problem:
    """Make a problem of one photo.

    Parameters
    ----------
    code, file, what, remedy : str
        As in `Problem`.

    Returns
    -------
    Problem
    """
    return Problem(code, BLOCKS, file, "", None, "", "", what, remedy)
