"""Values that were measured from photos, laid beside the healed rows that name the photo.

`photos/measured.csv` is written by the kit and holds columns of the healed table, one row a
photo. What is blank in a healed row is filled from it; what was typed stays, and a difference is a
problem.
"""

from collections.abc import Iterator

import pandas as pd

from pmulab.tables.fields import MISSING_REASONS
from pmulab.tables.report import BLOCKS, LOOK, Problem
from pmulab.tables.union import SOURCE

MEASURED = "measured.csv"
PHOTO_COLUMNS = (
    "photo_code",
    "photo_quality",
    "kept_pct",
    "width_mm",
    "spread_mm",
    "contrast_de00",
    "itaskin",
)
_KEY, _JUDGED = "photo_code", "photo_quality"


def with_photo_values(
    healed: pd.DataFrame, measured: pd.DataFrame
) -> tuple[pd.DataFrame, list[Problem]]:
    """Fill the blanks of healed rows from the photos that they name.

    Parameters
    ----------
    healed : DataFrame
        Text columns and `SOURCE`.
    measured : DataFrame
        The same of `measured.csv`.

    Returns
    -------
    tuple of (DataFrame, list of Problem)
        The healed rows with their photo values; values that differ from what was typed, and
        photos that no row names.
    """
    if _KEY not in healed or _KEY not in measured:
        return healed, []
    columns = [name for name in PHOTO_COLUMNS if name != _KEY and name in measured]
    filled = healed.assign(**{name: "" for name in columns if name not in healed})
    photos = {row[_KEY]: row for row in measured.to_dict("records") if row[_KEY]}
    problems: list[Problem] = []
    for row in filled.index:
        photo = photos.get(filled.loc[row, _KEY])
        for name in columns if photo else ():
            value, found = _taken(filled.loc[row], name, str((photo or {})[name]))
            filled.loc[row, name] = value
            problems += found
    problems += _nobody_names(measured, set(filled[_KEY]))
    filled.attrs = healed.attrs | {"files": (*healed.attrs["files"], measured.attrs["place"][0])}
    return filled, problems


def _taken(row: "pd.Series", name: str, seen: str) -> tuple[str, list[Problem]]:
    """Give what a cell holds once the photo is laid beside it, and whether the two disagree."""
    typed = str(row[name])
    if typed in ("", *MISSING_REASONS):
        return seen or typed, []
    if name == _JUDGED or seen in ("", *MISSING_REASONS):
        return typed, []
    return typed, list(_difference(row, name, typed, seen))


def _difference(row: "pd.Series", name: str, typed: str, seen: str) -> Iterator[Problem]:
    if _same(typed, seen):
        return
    yield Problem(
        "photo_disagrees", BLOCKS, *_place(row), name, typed,
        f"'{typed}' was typed, but the photo {row[_KEY]} was measured as {seen}.",
        "Take the typed value out if the photo is right; if it is not, mark the photo again.",
    )  # fmt: skip


def _nobody_names(measured: pd.DataFrame, named: set[str]) -> Iterator[Problem]:
    for _, row in measured[~measured[_KEY].isin(named)].iterrows():
        yield Problem(
            "photo_not_named", LOOK, *_place(row), _KEY, str(row[_KEY]),
            f"The photo {row[_KEY]} was measured, but no healed row names it.",
            f"Write {row[_KEY]} as photo_code in the row of that eyelid.",
        )  # fmt: skip


def _place(row: "pd.Series") -> tuple[str, str, int]:
    return str(row[SOURCE[0]]), str(row[SOURCE[1]]), int(row[SOURCE[2]])


def _same(typed: str, seen: str) -> bool:
    """Tell whether a typed number is the measured one, rounded as it was typed."""
    try:
        typed_number, seen_number = float(typed), float(seen)
    except ValueError:
        return typed == seen
    decimals = len(typed.partition(".")[2])
    return bool(abs(typed_number - seen_number) <= 0.5 * 10.0**-decimals + 1e-9)
