"""All outcomes on one scale: each difference counted in its own smallest worthwhile difference."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from pmulab.figures.lettering import Across, Letters, broken, number, shortened, write
from pmulab.figures.palette import BAND, INK, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.wording import (
    PLAIN_SIDES,
    capital,
    difference_parts,
    difference_words,
    only_measured,
    with_unit,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from pmulab.findings import Effect, Findings

WIDTH = 7.1
_WIDEST = 6.0
_PITCH, _LINE = 0.46, 0.07
"""Inches of a row with three lines beside it, and of each further line."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A difference in worthwhile differences, negative when it is better with A."""

    value: float | None
    low: float | None
    high: float | None


def all_outcomes(findings: "Findings") -> Picture:
    """Draw every outcome's difference over its own smallest worthwhile difference.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    Picture
        The main measure on top; the others marked exploratory. Left of the middle is better
        with A whatever the outcome (after harm, or in a study that was stopped: lower with A, and
        nothing is called better); the shaded band is too small to matter.
    """
    effects = findings.effects
    lines = max(sum(map(len, _beside(effect))) for effect in effects)
    height = 0.56 + (_PITCH + _LINE * max(lines - 3, 0)) * len(effects)

    def draw(sheet: "Figure") -> None:
        bottom = 0.38 / height
        axes = sheet.add_axes((0.315, bottom, 0.375, 1 - bottom - 0.2 / height))
        _frame(axes, [_row(effect) for effect in effects])
        _sides(axes, PLAIN_SIDES if any(map(only_measured, effects))
               else ("better with A", "better with B"))  # fmt: skip
        for place, effect in enumerate(effects):
            _draw_row(axes, place, effect, heading=_heading(effect, findings))

    plan = findings.plan
    told = " ".join(
        f"{capital(_heading(effect, findings))}: {difference_words(effect, plan)}"
        for effect in effects
    )
    return drawn(
        draw,
        title="All outcomes, each over its own smallest worthwhile difference",
        alt=f"One row an outcome, with a shaded band for what is too small to matter. {told}",
        width=WIDTH,
        height=height,
    )


def _heading(effect: "Effect", findings: "Findings") -> str:
    if effect is not findings.primary:
        return "exploratory"
    return "main measure" if findings.provenance.locked else "main measure, exploratory"


def _row(effect: "Effect") -> _Row:
    turn = 1 if effect.outcome.better == "lower" or only_measured(effect) else -1
    estimate = effect.difference
    value = None if estimate.value is None else turn * estimate.value / effect.outcome.worthwhile
    if estimate.interval is None:
        return _Row(value, None, None)
    ends = [
        turn * end / effect.outcome.worthwhile
        for end in (estimate.interval.low, estimate.interval.high)
    ]
    return _Row(value, min(ends), max(ends))


def _frame(axes: "Axes", rows: list[_Row]) -> None:
    ends = [end for row in rows for end in (row.value, row.low, row.high) if end is not None]
    reach = min(max([2.0, *map(abs, ends)]) * 1.08, _WIDEST)
    axes.set_xlim(-reach, reach)
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.axvspan(-1, 1, facecolor=BAND, zorder=0)
    axes.axvline(0, color=INK, linewidth=0.8, zorder=1)
    for edge in (-1, 1):
        axes.axvline(edge, color=QUIET, linewidth=0.8, linestyle=(0, (3, 2)), zorder=1)
    axes.xaxis.set_major_formatter(lambda value, _: number(abs(value)))
    axes.set_xlabel("size, in smallest worthwhile differences", labelpad=2)


def _sides(axes: "Axes", ends: tuple[str, str]) -> None:
    reach = axes.get_xlim()[1]
    sides: tuple[tuple[float, str, Across], ...] = (
        (-reach, ends[0], "left"),
        (0, "too small to matter", "center"),
        (reach, ends[1], "right"),
    )
    above = axes.get_xaxis_transform()
    for place, words, across in sides:
        write(
            axes,
            (place, 1.02),
            [words],
            Letters(across=across, down="bottom", size=7.5),
            transform=above,
        )


def _draw_row(axes: "Axes", place: int, effect: "Effect", *, heading: str) -> None:
    row = _row(effect)
    reach = axes.get_xlim()[1]
    main = heading != "exploratory"
    if row.low is not None and row.high is not None:
        ends = [max(row.low, -reach), min(row.high, reach)]
        axes.plot(ends, [place, place], color=INK, linewidth=2.4 if main else 1.4, zorder=3)
        for end, wanted, marker in ((ends[0], row.low, "<"), (ends[1], row.high, ">")):
            axes.plot(end, place, "|" if end == wanted else marker, color=INK, markersize=7)
    if row.value is not None:
        inside = abs(row.value) <= reach
        axes.plot(
            max(-reach, min(row.value, reach)),
            place,
            ("D" if main else "o") if inside else "<" if row.value < 0 else ">",
            color=INK,
            markersize=8 if main else 6,
            markerfacecolor=INK if main else "white",
            clip_on=False,
            zorder=4,
        )
    _row_words(axes, place, effect, heading)


def _beside(effect: "Effect") -> tuple[list[str], list[str]]:
    """Give the difference, whole, and its interval in the lines that stand beside a row."""
    words, interval = difference_parts(effect)
    return broken(capital(words), 34, 3), broken(interval, 44, 2)


def _row_words(axes: "Axes", place: int, effect: "Effect", heading: str) -> None:
    beside = axes.get_yaxis_transform()
    outcome = effect.outcome
    title = [shortened(capital(outcome.title), 36)]
    size, told = _beside(effect)
    matters = f"{heading}; matters: {with_unit(outcome.worthwhile, outcome)}"
    weight: Literal["bold", "normal"] = "normal" if heading == "exploratory" else "bold"
    for across, head, lines in ((-0.83, title, [shortened(matters, 46)]), (1.03, size, told)):
        place_of = (across, float(place))
        padded = [*head, *("" for _ in lines)]
        write(axes, place_of, padded, Letters(down="center", weight=weight), transform=beside)
        write(
            axes,
            place_of,
            [*("" for _ in head), *lines],
            Letters(down="center", size=7, colour=QUIET),
            transform=beside,
        )
