"""Studies under one another, each with its interval, and what they say together."""

from dataclasses import replace
from typing import TYPE_CHECKING

from pmulab.figures.lettering import Letters, axis_label, number, shortened, write
from pmulab.figures.palette import BAND, INK, JOIN, PAPER, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.wording import (
    PLAIN_SIDES,
    capital,
    direction_words,
    pooled_finding,
    registered_words,
    spread_lines,
    study_words,
    unit_of,
    with_unit,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from pmulab.findings import Interval
    from pmulab.findings.pooled import PooledFindings, StudyResult

WIDTH = 7.1
MOST_ROWS = 40
_ROW, _HEAD, _FOOT = 0.235, 0.36, 0.72
_LEFT, _ACROSS = 0.34, 0.385
_EDGE = (0.005 - _LEFT) / _ACROSS
"""Left edge of the sheet, in widths of the axes."""


def forest(found: "PooledFindings") -> Picture:
    """Draw every study's difference with its interval, and the average where there is one.

    Parameters
    ----------
    found : PooledFindings

    Returns
    -------
    Picture
        Squares grow with the weight of a study; the diamond is the average with its interval,
        the bar below it the range for the next studio. The shaded band is too small to matter.
        Of very many studies those that weigh most are drawn.
    """
    shown = _shown(found)
    rows = len(shown) + 2 * (found.together is not None)
    height = _HEAD + _ROW * max(rows, 1) + _FOOT

    def draw(sheet: "Figure") -> None:
        bottom = _FOOT / height
        axes = sheet.add_axes((_LEFT, bottom, _ACROSS, 1 - bottom - _HEAD / height))
        _frame(axes, found, shown, max(rows, 1))
        heaviest = max((study.weight for study in shown), default=0.0)
        for place, study in enumerate(shown):
            _study(axes, place, study, heaviest)
            _words(axes, place, (study.label, study.n), study.value, study.interval)
        _average(axes, found, len(shown))
        _below(axes, found, len(found.studies) - len(shown))

    return drawn(
        draw,
        title="All studies, one under the other",
        alt=_told(found, shown),
        width=WIDTH,
        height=height,
    )


def _shown(found: "PooledFindings") -> "tuple[StudyResult, ...]":
    if len(found.studies) <= MOST_ROWS:
        return found.studies
    return tuple(sorted(found.studies, key=lambda study: -study.weight)[:MOST_ROWS])


def _told(found: "PooledFindings", shown: "tuple[StudyResult, ...]") -> str:
    each = "; ".join(study_words(study, found.question) for study in shown)
    more = len(found.studies) - len(shown)
    rest = f" and {more} more" if more else ""
    matters = with_unit(found.question.outcome.worthwhile, found.question.outcome)
    average = pooled_finding(found) if found.together is not None else "No average is drawn."
    return (
        f"One row a study: its difference A minus B as a square, with its interval. {each}{rest}. "
        f"A shaded band shows what is too small to matter (under {matters}). {average} "
        f"{next(iter(spread_lines(found)))} {registered_words(found)}"
    )


def _frame(
    axes: "Axes", found: "PooledFindings", shown: "tuple[StudyResult, ...]", rows: int
) -> None:
    outcome = found.question.outcome
    ends = [outcome.worthwhile, -outcome.worthwhile]
    for study in shown:
        ends += [study.value, *_ends(study.interval)]
    if found.together is not None:
        ends += _ends(found.together.interval)
        if found.show_prediction:
            ends += _ends(found.together.prediction)
    # One wild interval must not squeeze all others: it ends in an arrow instead.
    reach = min(max(map(abs, ends)) * 1.06, 8 * outcome.worthwhile)
    reach = max(reach, 1.1 * max((abs(study.value) for study in shown), default=0.0))
    axes.set_xlim(-reach, reach)
    axes.set_ylim(rows - 0.5, -0.5)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.axvspan(-outcome.worthwhile, outcome.worthwhile, facecolor=BAND, zorder=0)
    axes.axvline(0, color=INK, linewidth=0.8, zorder=1)
    for edge in (-outcome.worthwhile, outcome.worthwhile):
        axes.axvline(edge, color=QUIET, linewidth=0.8, linestyle=(0, (3, 2)), zorder=1)
    axes.xaxis.set_major_formatter(lambda value, _: number(value))
    axes.set_xlabel(axis_label("Difference A − B", unit_of(outcome), 60), labelpad=2)
    _sides(axes, found, reach)


def _sides(axes: "Axes", found: "PooledFindings", reach: float) -> None:
    plain = found.safety.harm_first
    left, right = PLAIN_SIDES if plain else direction_words(found.question.outcome)
    above = axes.get_xaxis_transform()
    small = Letters(across="left", down="bottom", size=7.5)
    write(axes, (-reach, 1.0), [left], small, transform=above)
    small = Letters(across="right", down="bottom", size=7.5)
    write(axes, (reach, 1.0), [right], small, transform=above)
    head = Letters(down="bottom", size=7.5, colour=QUIET)
    write(axes, (_EDGE, 1.0), ["study"], head, transform=axes.transAxes)
    right_head = replace(head, across="right")
    write(axes, (-0.04, 1.0), ["clients"], right_head, transform=axes.transAxes)


def _ends(interval: "Interval | None") -> list[float]:
    return [] if interval is None else [interval.low, interval.high]


def _line(axes: "Axes", place: float, interval: "Interval", colour: str, width: float) -> None:
    reach = axes.get_xlim()[1]
    low, high = max(interval.low, -reach), min(interval.high, reach)
    axes.plot([low, high], [place, place], color=colour, linewidth=width, zorder=2)
    for end, wanted, arrow in ((low, interval.low, "<"), (high, interval.high, ">")):
        if end != wanted:
            axes.plot(end, place, arrow, color=colour, markersize=5, clip_on=False, zorder=3)


def _study(axes: "Axes", place: int, study: "StudyResult", heaviest: float) -> None:
    if study.interval is not None:
        _line(axes, place, study.interval, INK, 1.3)
    size = 4 + 4.5 * (study.weight / heaviest) ** 0.5 if heaviest else 6
    axes.plot(study.value, place, "s", color=INK, markersize=size, zorder=4)


def _average(axes: "Axes", found: "PooledFindings", place: int) -> None:
    together = found.together
    if together is None:
        return
    axes.axhline(place - 0.5, color=QUIET, linewidth=0.8)
    interval, value = together.interval, together.value
    low, high = interval.low, interval.high
    axes.fill([low, value, high, value], [place, place - 0.3, place, place + 0.3],
              facecolor=PAPER, edgecolor=INK, linewidth=1.6, zorder=4)  # fmt: skip
    _words(axes, place, ("together", found.clients), value, interval, bold=True)
    if found.show_prediction and together.prediction is not None:
        _line(axes, place + 1, together.prediction, JOIN, 5)
        _words(axes, place + 1, ("next studio", None), None, together.prediction)
    else:
        said = "next studio: cannot be told"
        write(axes, (_EDGE, place + 1), [said], Letters(down="center", colour=QUIET),
              transform=axes.get_yaxis_transform())  # fmt: skip


def _words(
    axes: "Axes",
    place: int,
    head: tuple[str, int | None],
    value: float | None,
    interval: "Interval | None",
    *,
    bold: bool = False,
) -> None:
    beside = axes.get_yaxis_transform()
    letters = Letters(down="center", weight="bold" if bold else "normal")
    label, clients = head
    write(axes, (_EDGE, place), [shortened(label, 34)], letters, transform=beside)
    count = [] if clients is None else [str(clients)]
    write(axes, (-0.04, place), count, replace(letters, across="right"), transform=beside)
    size = "" if value is None else f"{_number(value)}  "
    ends = "no interval"
    if interval is not None:
        ends = f"{_number(interval.low)} to {_number(interval.high)}"
    write(axes, (1.03, place), [f"{size}({ends})"], letters, transform=beside)


def _number(value: float) -> str:
    """Write a difference with two decimals where it is small, and a true minus sign."""
    return (f"{value:.2f}" if abs(value) < 100 else f"{value:.0f}").replace("-", "−")


def _below(axes: "Axes", found: "PooledFindings", more: int) -> None:
    lines = [registered_words(found)]
    if more > 0:
        lines.append(f"{more} further studies weigh less and are not drawn.")
    figure = axes.get_figure(root=True)
    height = figure.get_figheight() if figure else 1.0
    place = (_EDGE, -(_FOOT - 0.26) / (axes.get_position().height * height))
    write(axes, place, [capital(line) for line in lines], Letters(size=7.5), axes.transAxes)
