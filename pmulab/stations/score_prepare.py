"""Prepare a blind scoring round from healed photos: checked, stripped, mixed, coded, sealed."""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from os import cpu_count
from pathlib import Path
from secrets import randbits, token_hex

from pmulab.counting import counted
from pmulab.disk import read_bytes, typed
from pmulab.errors import UserError
from pmulab.photo.dating import camera_day
from pmulab.photo.reading import read_photo, written_jpeg
from pmulab.photo.sizing import resized
from pmulab.scoring import Key, Photo, draw_round, public_round, read_photo_name, seal_key
from pmulab.scoring.drawing import LONGEST
from pmulab.scoring.page import page_html
from pmulab.scoring.photos import ENDINGS, EXAMPLE, doubled, photo_problem
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.photo_consent import left_out
from pmulab.stations.rounds import BEGUN, KEY, PREPARED, PUBLIC, Round, next_number, refusals
from pmulab.study import Study
from pmulab.tables import Problem

PHOTOS = "healed-photos"
REPEATS = 0.2
_QUALITY = 85
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Wishes:
    """How a round is to be made.

    Parameters
    ----------
    photos : path-like or None
        Folder of the photos; None for the one in the study folder.
    repeats : float
        Share of the photos shown twice.
    mirror, again : bool
        Mirror left eyelids; also take photos that were in an earlier round.
    seed : int
        From the operating system; the demonstration gives its own.
    progress : callable, optional
        Called with the number of photos done and of all.
    """

    photos: str | Path | None = None
    repeats: float = REPEATS
    mirror: bool = True
    again: bool = False
    seed: int = field(default_factory=lambda: randbits(128))
    progress: Progress | None = None


def prepare_scoring(
    study: Opened,
    photos: str | Path | None = None,
    *,
    repeats: float = REPEATS,
    mirror: bool = True,
    again: bool = False,
    progress: Progress | None = None,
) -> Answer[Path | None]:
    """Make a scoring round from the healed photos of a study; the photos stay as they are.

    Parameters
    ----------
    study : Study or path-like
    photos : path-like, optional
        Folder with photos named like C042_L_1.jpg; 'healed-photos' in the study folder if not
        given.
    repeats : float, default=0.2
        Share of the photos shown twice, to see how well an assessor agrees with herself.
    mirror : bool, default=True
        Mirror left eyelids, so that the side cannot be told.
    again : bool, default=False
        Also take photos that were in an earlier round.
    progress : callable, optional
        Called with the number of photos done and of all.

    Returns
    -------
    Answer
        Its value is the scoring page; None when photos have to be put right first.

    Raises
    ------
    UserError
        If the plan is not locked, there is no photo to score, or the folder cannot be written.
    """
    wishes = Wishes(photos, repeats, mirror, again, progress=progress)
    return prepare_as_wished(opened(study), wishes)


def prepare_as_wished(study: Study, wishes: Wishes) -> Answer[Path | None]:
    """Make a round; see `prepare_scoring`."""
    if study.locked() is None:
        raise UserError(
            "The plan is not locked yet, so there is nothing to score.",
            f"Lock it first: pmulab lock {typed(study.folder)}",
        )
    place = Path(wishes.photos) if wishes.photos is not None else study.path(PHOTOS)
    read, problems = _read(place)
    taken, reasons = left_out(study, records_of(study)[0], _dated(read, place), wishes.again)
    problems += _without_day(taken)
    if problems:
        return _to_mend(study, problems)
    if not taken:
        raise UserError(
            "No photo is left to score.",
            " ".join(reasons) or f"Put photos named like {EXAMPLE} into {place}.",
        )
    with study.writing():
        key = draw_round(
            taken,
            next_number(study),
            wishes.seed,
            repeats=wishes.repeats,
            mirror=wishes.mirror,
            side_by_side=study.plan().within_person,
        )
        shown = _shown(key, {one.key: place / one.file for one in taken}, wishes.progress)
        if isinstance(shown, list):
            return _to_mend(study, shown)
        made = _write(study, key, shown)
    return _made(study, made, key, reasons, wishes.mirror)


def _read(place: Path) -> tuple[list[Photo], list[Problem]]:
    """Read the names of the photos in a folder."""
    if not place.is_dir():
        raise UserError(
            f"There is no folder {place}.",
            f"Make it and put the healed photos in, named like {EXAMPLE}.",
        )
    names = sorted(
        path.name
        for path in place.iterdir()
        if path.suffix.lower() in ENDINGS and not path.name.startswith(".") and path.is_file()
    )
    read = [read_photo_name(name) for name in names]
    photos = [one for one in read if isinstance(one, Photo)]
    problems = [one for one in read if isinstance(one, Problem)]
    return photos, problems + doubled(photos)


def _dated(photos: Sequence[Photo], place: Path) -> list[Photo]:
    """Give each photo its day: from its name, else from its camera."""
    return [
        one if one.day else replace(one, day=camera_day(read_bytes(place / one.file)))
        for one in photos
    ]


def _without_day(photos: Sequence[Photo]) -> list[Problem]:
    return [
        photo_problem(
            "photo_day", one.file,
            f"Neither the name of '{one.file}' nor the camera says when the photo was taken.",
            f"Add the day to the name: {Path(one.file).stem}_2026-04-12{Path(one.file).suffix}",
        )
        for one in photos
        if not one.day
    ]  # fmt: skip


def _shown(
    key: Key, files: Mapping[tuple[str, str, int], Path], progress: Progress | None
) -> dict[str, bytes] | list[Problem]:
    """Make every picture of the round, photo by photo; or tell which photos cannot be read."""
    pictures: dict[str, bytes] = {}
    problems: list[Problem] = []
    tell = progress or (lambda _done, _all: None)

    def made(photo: tuple[str, str, int]) -> dict[str, bytes] | Problem:
        try:
            return _pictures(key, photo, read_bytes(files[photo]))
        except UserError as error:
            return photo_problem("photo_unreadable", files[photo].name, error.what, error.remedy)

    tell(0, len(files))
    with ThreadPoolExecutor(cpu_count() or 1) as workers:
        for done, found in enumerate(workers.map(made, files), start=1):
            tell(done, len(files))
            if isinstance(found, Problem):
                problems.append(found)
            else:
                pictures |= found
    return problems or pictures


def _pictures(key: Key, photo: tuple[str, str, int], data: bytes) -> dict[str, bytes]:
    """Make every showing of one photo anew from its pixels: no place, no time, no device."""
    pixels = resized(read_photo(data), LONGEST)
    made = {}
    for name, mirrored, longest in _showings_of(key, photo):
        turned = pixels[:, ::-1] if mirrored else pixels
        made[name] = written_jpeg(resized(turned, longest), quality=_QUALITY)
    return made


def _showings_of(key: Key, photo: tuple[str, str, int]) -> Iterator[tuple[str, bool, int]]:
    for one in key.showings:
        if one.photo == photo:
            yield one.code, one.mirrored, one.longest
    for pair in key.pairs:
        for place, side in enumerate(pair.sides):
            if (pair.client_code, side, pair.visit_no) == photo:
                yield f"{pair.code}-{place + 1}", pair.mirrored[place], pair.longest[place]


def _write(study: Study, key: Key, pictures: Mapping[str, bytes]) -> Round:
    """Write the round; its secret stands in the journal before there is anything to open."""
    plan, secret = study.plan(), token_hex(32)
    made = Round(key.number, secret)
    study.record(BEGUN, round=key.number, secret=secret)
    public = public_round(key, plan) | {"refusals": refusals(plan)}
    in_order = {name: pictures[name] for name in sorted(pictures)}
    page = page_html(public, in_order)
    files = {f"photos/{name}.jpg": data for name, data in in_order.items()}
    files |= {
        KEY: seal_key(key, secret).encode(),
        PUBLIC: (json.dumps(public, indent=1, ensure_ascii=False) + "\n").encode(),
        Path(made.page).name: page.encode(),
    }
    study.keep_folder(made.folder, files)
    sealed = (f"{made.folder}/{KEY}", f"{made.folder}/{PUBLIC}")  # pictures may be deleted later
    study.record(
        PREPARED,
        round=key.number,
        sealed_files={name: study.file_hash(name) for name in sealed},
        photos=len(key.showings),
    )
    return made


def _to_mend(study: Study, problems: Sequence[Problem]) -> Answer[Path | None]:
    lines = [
        *alarms(study),
        f"No round was made. To be put right first: {counted(len(problems), 'photo')}.",
        *(f"- {one.what} {one.remedy}" for one in problems),
    ]
    data = {"problems": [{"file": one.file, "what": one.what} for one in problems]}
    return Answer(tuple(lines), None, data=data, found_problems=True)


def _made(
    study: Study, made: Round, key: Key, reasons: Sequence[str], mirror: bool
) -> Answer[Path | None]:
    page = study.path(made.page)
    photos = len({one.photo for one in key.showings})
    clients = len({one.client_code for one in key.showings})
    size = page.stat().st_size / 1e6
    side = (
        "Left eyelids are mirrored, so that the side cannot be told."
        if mirror
        else "Photos are not mirrored: an assessor may see which side an eyelid is on."
    )
    lines = (
        *alarms(study),
        f"Round {made.number} is ready: {counted(photos, 'photo')} of "
        f"{counted(clients, 'client')}, "
        f"{len(key.showings) - photos} of them shown twice, {len(key.pairs)} side by side. {side}",
        *reasons,
        f"Score in notebook 03, or give the page ({size:.1f} MB) to assessors inside your group, "
        "by hand: it opens in any browser, without a network, and saves a small file to send back.",
        "The page shows eyes, and eyes identify people: nobody else may see it, and every copy is "
        "deleted once the answers are in. The key stays sealed in the study folder.",
        f"Then: pmulab score collect {study.folder} FILE...",
    )
    data = {"round": made.number, "photos": photos, "clients": clients, "left_out": list(reasons)}
    return Answer(lines, page, (page,), data)
