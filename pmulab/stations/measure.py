"""Measure the healed line in every marked photo of a study."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import pandas as pd

from pmulab import __version__
from pmulab.counting import counted, were
from pmulab.errors import UserError
from pmulab.estimate.measurement_error import smallest_detectable_change
from pmulab.photo.marks import BETWEEN_LASHES
from pmulab.photo.measuring import Measured, Reading
from pmulab.photo.measuring import measure as measured_photo
from pmulab.photo.quality import Refusal
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.photos import PHOTOS, has_marks, photo_codes, read_marked
from pmulab.study import Study
from pmulab.tables import Records, days_healed
from pmulab.tables.photo_values import MEASURED, PHOTO_COLUMNS

AGAIN = "-again"
"""End of the code of a second photo of the same eyelid, re-positioned, at the same visit."""
_NOT_QUALITY = frozenset({"between_lashes", "no_line"})
_FEWEST_PAIRS, _LEAST_PAIRS = 5, 10
_NAMES = {"kept": "kept", "width": "width", "spread": "spread", "contrast": "contrast"}


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """One marked photo, and what it gave.

    Parameters
    ----------
    code : str
    reading : Reading
    """

    code: str
    reading: Reading

    def __str__(self) -> str:
        found = self.reading.measured
        if found is None:
            return f"{self.code}: not measured."
        values = [f"kept {found.kept}", f"width {found.width}", f"spread {found.spread}"]
        if found.width is None:
            values = [f"kept {found.kept}", found.note.rstrip(".").lower()]
        if found.contrast is not None:
            told = found.contrast
            values.append(f"contrast {told.value:.1f} ± {told.plus_minus:.1f}")
        return f"{self.code}: {', '.join(values)}."


def measure(
    study: Opened, before_each: Callable[[str], None] | None = None
) -> Answer[tuple[Shot, ...]]:
    """Measure every marked photo; what cannot be measured is refused and said.

    Parameters
    ----------
    study : Study or path-like
    before_each : callable, optional
        Called with the code of each photo before it is measured.

    Returns
    -------
    Answer
        Its value holds a `Shot` for each marked photo. Written are `photos/measured.csv`, which
        `check` and `analyse` lay beside the healed rows that name the photo, `measured.json` with
        every number, and `measured.html` with the pictures, which stay in the studio.

    Raises
    ------
    UserError
        If there is no study in the folder.
    """
    folder = opened(study)
    codes = photo_codes(folder)
    marked = [code for code in codes if has_marks(folder, code)]
    records, _ = records_of(folder)
    shots, broken = [], []
    for code in marked:
        if before_each is not None:
            before_each(code)
        try:
            shots.append(_shot(folder, code, records))
        except UserError as error:
            broken.append(f"{code}: {error.what} {error.remedy}")
    told = [*alarms(folder), *broken, *_told(shots)]
    waiting = [code for code in codes if code not in marked]
    if waiting:
        told.append(f"Not marked yet: {', '.join(waiting)}.")
    if not codes:
        told.append("There are no photos yet. Take one in: pmulab photo FOLDER FILE")
    told += _repeatability(shots)
    files = _written(folder, shots) if shots else ()
    refused = any(shot.reading.refusals for shot in shots)
    return Answer(
        tuple(told), tuple(shots), files, _plain(shots), found_problems=bool(refused or broken)
    )


def look_at_photo(study: Opened, code: str) -> Answer[Shot]:
    """Measure one marked photo; writes nothing.

    Parameters
    ----------
    study : Study or path-like
    code : str

    Returns
    -------
    Answer

    Raises
    ------
    UserError
        If there is no such photo, or no marks.
    """
    folder = opened(study)
    records, _ = records_of(folder)
    shot = _shot(folder, code, records)
    refused = bool(shot.reading.refusals)
    return Answer(tuple(_told([shot])), shot, data=_plain([shot]), found_problems=refused)


def _shot(study: Study, code: str, records: Records) -> Shot:
    pixels, marks = read_marked(study, code)
    rows = records.healed[records.healed["photo_code"].eq(code.removesuffix(AGAIN))]
    if _between_lashes(records, rows):
        marks = replace(marks, style=BETWEEN_LASHES)
    early = days_healed(records)[rows.index].min()
    first = study.plan().healed.earliest
    if not pd.isna(early) and early < first:
        return Shot(code, Reading((_too_early(int(early), first),)))
    return Shot(code, measured_photo(pixels, marks))


def _between_lashes(records: Records, rows: pd.DataFrame) -> bool:
    worked = records.sessions
    same = worked.merge(rows[["client_code", "side"]], on=["client_code", "side"])
    return bool(same["style"].eq(BETWEEN_LASHES).any())


def _too_early(days: int, first: int) -> Refusal:
    return Refusal(
        "too_early",
        f"The photo is from day {days}; before day {first} a line is not healed.",
        "Take it again when the line is healed.",
    )


def _told(shots: Iterable[Shot]) -> list[str]:
    lines = []
    for shot in shots:
        lines.append(str(shot))
        lines += [f"  {one.what} {one.remedy}" for one in shot.reading.refusals]
    if any(shot.reading.measured for shot in shots):
        lines.append(
            "Compare the two eyelids of one client under one light, and nothing else: these are "
            "no absolute colours, and no photo replaces looking at the eye."
        )
    return lines


def _pairs(shots: Sequence[Shot]) -> list[tuple[Measured, Measured]]:
    found = {shot.code: shot.reading.measured for shot in shots}
    pairs = [(found.get(code.removesuffix(AGAIN)), found[code]) for code in found
             if code.endswith(AGAIN)]  # fmt: skip
    return [(one, other) for one, other in pairs if one is not None and other is not None]


def _repeatability(shots: Sequence[Shot]) -> list[str]:
    pairs = _pairs(shots)
    if not pairs:
        return []
    if len(pairs) < _FEWEST_PAIRS:
        return [
            f"{counted(len(pairs), 'eyelid')} {were(len(pairs))} photographed twice: too "
            f"few to say which change is real. Photograph {_LEAST_PAIRS} eyelids twice."
        ]
    lines = [
        f"{counted(len(pairs), 'eyelid')} {were(len(pairs))} photographed twice. In one eyelid, "
        "a change smaller than this is not measurable:"
    ]
    for name, title in _NAMES.items():
        values = [(getattr(a, name), getattr(b, name)) for a, b in pairs]
        both = [(a.value, b.value) for a, b in values if a is not None and b is not None]
        if len(both) < 2:
            continue
        unit = next(a.unit for a, _ in values if a is not None)
        change = smallest_detectable_change(both)
        if change.value is None:
            lines.append(f"  {title}: {change.note}")
        elif change.interval is not None:
            lines.append(f"  {title}: {change.value:.2g} {unit} (up to {change.interval.high:.2g})")
    if len(pairs) < _LEAST_PAIRS:
        lines.append(f"  Photograph {_LEAST_PAIRS} eyelids twice for a firmer figure.")
    return lines


def _written(study: Study, shots: Sequence[Shot]) -> tuple[Any, ...]:
    from pmulab.sharing.photo_pages import measured_page

    with study.writing():
        files = (
            study.remake(f"{PHOTOS}/{MEASURED}", _csv(shots)),
            study.remake(f"{PHOTOS}/measured.json", _json(shots)),
            study.remake(
                f"{PHOTOS}/measured.html",
                measured_page(
                    [(str(shot), shot.code, shot.reading) for shot in shots],
                    invented=study.plan().study.invented,
                ),
            ),
        )
        measured = [shot.code for shot in shots if shot.reading.measured]
        study.record(
            "photos measured", measured=measured,
            refused=[shot.code for shot in shots if shot.reading.refusals],
            content=study.file_hash(f"{PHOTOS}/{MEASURED}"),
        )  # fmt: skip
    return files


def _csv(shots: Iterable[Shot]) -> str:
    lines = [",".join(PHOTO_COLUMNS)]
    for shot in shots:
        codes = [refusal.code for refusal in shot.reading.refusals]
        if shot.code.endswith(AGAIN) or _NOT_QUALITY.intersection(codes):
            continue
        values = _row(shot.reading.measured)
        lines.append(",".join([shot.code, *(codes[:1] or ["ok"]), *values]))
    return "\n".join(lines) + "\n"


def _row(found: Measured | None) -> list[str]:
    if found is None:
        return ["NA_not_done"] * (len(PHOTO_COLUMNS) - 2)

    def told(value: Any, digits: int) -> str:
        return "NA_not_applicable" if value is None else f"{value.value:.{digits}f}"

    return [
        told(found.kept, 1),
        told(found.width, 2),
        told(found.spread, 2),
        told(found.contrast, 1),
        told(found.skin_angle, 1),
    ]


def _plain(shots: Iterable[Shot]) -> Mapping[str, Any]:
    return {
        "photos": {
            shot.code: {
                "measured": asdict(shot.reading.measured) if shot.reading.measured else None,
                "refused": [asdict(refusal) for refusal in shot.reading.refusals],
            }
            for shot in shots
        }
    }


def _json(shots: Iterable[Shot]) -> str:
    content = {"format": 1, "pmulab": __version__, **_plain(shots)}
    return json.dumps(content, allow_nan=False, indent=1) + "\n"
