"""Consecutive clients as lines over time: run chart, limits, running sum, share by month."""

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from matplotlib.ticker import MaxNLocator

from pmulab.figures.lettering import Letters, number, shortened, write
from pmulab.figures.palette import ALARM, ARM_A, ARM_B, INK, PAPER, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.wording import capital, line_lines, shares_lines

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from pmulab.estimate.cusum import Cusum
    from pmulab.practice import BeforeAfter, Line, Shares

WIDTH = 7.1
_LEFT, _ACROSS = 0.62, 6.3  # inches
_PANEL, _BETWEEN, _TOP, _FOOT = 1.25, 0.34, 0.3, 0.45
_MONTHS_FOOT = 0.62  # two lines below each tick
_UNDER_MONTHS = _MONTHS_FOOT + 0.25
_LEGEND_ROW = 0.15
_MOST_CHANGES = 6
_UNIT = 18


@lru_cache(maxsize=32)  # the page and the form show the same
def line_over_time(line: "Line") -> Picture:
    """Draw a measured outcome of consecutive clients.

    Parameters
    ----------
    line : Line

    Returns
    -------
    Picture
        One below the other: the run chart with its median; the same values within their limits;
        and the running sum, as far as the clients allow each. Dated changes run through all.
    """
    panels = [_run]
    if line.limits is not None and line.limits.centre is not None:
        panels.append(_limits)
    if line.cusum is not None:
        panels.append(_cusum)
    legend = _legend(line.changes)
    height = _height(len(panels), len(legend), _FOOT)

    def draw(sheet: "Figure") -> None:
        for axes, panel in zip(_stacked(sheet, len(panels), height), panels, strict=True):
            axes.set_xlim(min(line.clients, default=1) - 0.8, max(line.clients, default=1) + 0.8)
            panel(axes, line)
            _mark_changes(axes, line.changes, [one.moment.client - 0.5 for one in line.changes])
        axes.xaxis.set_major_locator(MaxNLocator(12, integer=True))
        _finish(axes, "Client", legend, _FOOT)

    return drawn(
        draw,
        title=f"{capital(line.outcome.title)} over consecutive clients",
        alt=" ".join(line_lines(line)),
        width=WIDTH,
        height=height,
    )


@lru_cache(maxsize=32)
def share_by_month(shares: "Shares") -> Picture:
    """Draw a yes/no outcome of consecutive clients, month by month.

    Parameters
    ----------
    shares : Shares

    Returns
    -------
    Picture
        The share of yes in each period with the clients behind it, and the limits if any; below
        it the running sum of the answers, if there is one.
    """
    legend = _legend(shares.changes)
    panels = 1 if shares.cusum is None else 2
    foot = _MONTHS_FOOT if panels == 1 else _FOOT
    height = _height(panels, len(legend), foot, _UNDER_MONTHS)
    starts = shares.first_clients
    places = [sum(first < one.moment.client for first in starts) - 0.5 for one in shares.changes]

    def draw(sheet: "Figure") -> None:
        axes, *under = _stacked(sheet, panels, height, _UNDER_MONTHS)
        axes.set_xlim(-0.6, max(len(starts), 1) - 0.4)
        _months(axes, shares)
        _mark_changes(axes, shares.changes, places)
        axes.tick_params(labelbottom=True)
        _finish(axes, "Month, and yes / clients seen", [] if under else legend, foot)
        for lower in under:
            _answers(lower, shares)
            _finish(lower, "Client", legend, foot)

    return drawn(
        draw,
        title=f"{capital(shares.outcome.title)}, month by month",
        alt=" ".join(shares_lines(shares)),
        width=WIDTH,
        height=height,
    )


def _height(panels: int, rows: int, foot: float, between: float = _BETWEEN) -> float:
    return _TOP + panels * _PANEL + (panels - 1) * between + foot + rows * _LEGEND_ROW


def _stacked(
    sheet: "Figure", panels: int, height: float, between: float = _BETWEEN
) -> "list[Axes]":
    made = []
    for place in range(panels):
        top = height - _TOP - place * (_PANEL + between)
        made.append(
            sheet.add_axes(
                (_LEFT / WIDTH, (top - _PANEL) / height, _ACROSS / WIDTH, _PANEL / height)
            )
        )
        if place + 1 < panels:
            made[-1].tick_params(labelbottom=False)
    return made


def _title(axes: "Axes", words: str) -> None:
    place = Letters(down="bottom", weight="bold")
    write(axes, (0, 1 + 0.03), [words], place, transform=axes.transAxes)


def _values(axes: "Axes", line: "Line") -> None:
    axes.plot(line.clients, line.values, "-o", color=ARM_A, linewidth=0.9, markersize=3.6, zorder=3)
    axes.yaxis.set_major_locator(MaxNLocator(5))
    axes.yaxis.set_major_formatter(lambda value, _: number(value))
    axes.set_ylabel(shortened(line.outcome.unit, _UNIT), rotation_mode="anchor")


def _run(axes: "Axes", line: "Line") -> None:
    _values(axes, line)
    axes.margins(y=0.15)
    run = line.run
    sign = {True: "a sign of a shift", False: "no sign of a shift", None: "too few for the rules"}
    _title(axes, f"Run chart, line: median ({sign[run.signal]})")
    if run.median is not None:
        axes.axhline(run.median, color=INK, linewidth=1.0, zorder=1)


def _limits(axes: "Axes", line: "Line") -> None:
    limits = line.limits
    assert limits is not None
    assert limits.centre is not None
    _values(axes, line)
    axes.axhline(limits.centre, color=INK, linewidth=1.0, zorder=1)
    edges = (max(limits.lower[0], line.outcome.low), min(limits.upper[0], line.outcome.high))
    for edge in edges:
        axes.axhline(edge, color=QUIET, linewidth=0.9, linestyle=(0, (4, 3)), zorder=1)
    told = "nobody outside" if not limits.outside else f"{len(limits.outside)} outside"
    _title(axes, f"Limits from the first {line.baseline}, line: their average ({told})")
    reach = [*line.values, *edges]
    margin = 0.1 * (max(reach) - min(reach))
    axes.set_ylim(min(reach) - margin, max(reach) + margin)
    for place in limits.outside:
        _ring(axes, line.clients[place - 1], line.values[place - 1])


def _ring(axes: "Axes", across: float, up: float) -> None:
    axes.plot(
        across, up, "D", markersize=9, markerfacecolor="none", markeredgecolor=ALARM,
        markeredgewidth=1.6, zorder=4,
    )  # fmt: skip


def _cusum(axes: "Axes", line: "Line") -> None:
    assert line.cusum is not None
    sign = _sums(axes, line.cusum, line.clients[line.baseline :])
    axes.yaxis.set_major_formatter(lambda value, _: number(value))
    axes.set_ylabel(shortened(line.outcome.unit, _UNIT), rotation_mode="anchor")
    _title(axes, f"Running sum (CUSUM) after the first {line.baseline} ({sign})")


def _answers(axes: "Axes", shares: "Shares") -> None:
    assert shares.cusum is not None
    clients = shares.sum_clients
    axes.set_xlim(min(clients) - 0.8, max(clients) + 0.8)
    sign = _sums(axes, shares.cusum, clients)
    axes.set_yticks([-1, 0, 1], ["less", "0", "more"])
    axes.set_ylabel("yes", rotation_mode="anchor")
    axes.xaxis.set_major_locator(MaxNLocator(12, integer=True))
    later = [one for one in shares.changes if one.moment.client > clients[0]]
    marks = dict(zip(map(id, shares.changes), _marks(shares.changes), strict=True))
    for one in later:
        _mark(axes, marks[id(one)], one.moment.client - 0.5)
    _title(axes, f"Running sum (CUSUM) after the first {shares.first} ({sign})")


def _sums(axes: "Axes", found: "Cusum", clients: Sequence[int]) -> str:
    """Draw both sums and what counts as a sign; say whether there is one."""
    axes.plot(clients, found.high, "-^", color=ARM_B, markersize=3.6, linewidth=0.9)
    lower = [-one for one in found.low]
    axes.plot(clients, lower, "-v", color=ARM_A, markersize=3.6, linewidth=0.9)
    axes.axhline(0, color=INK, linewidth=0.8, zorder=1)
    edge = found.decision
    for end in (-edge, edge):
        axes.axhline(end, color=QUIET, linewidth=0.9, linestyle=(0, (4, 3)), zorder=1)
    reach = 1.15 * max([edge, *found.high, *found.low])
    axes.set_ylim(-reach, reach)
    axes.yaxis.set_major_locator(MaxNLocator(5))
    if found.signal_at is None:
        return "no sign"
    at = found.signal_at - 1
    _ring(axes, clients[at], found.high[at] if found.side == "high" else lower[at])
    return f"a sign at client {clients[at]}"


def _months(axes: "Axes", shares: "Shares") -> None:
    places = range(len(shares.months))
    values = [yes / seen for yes, seen in zip(shares.yes, shares.seen, strict=True)]
    axes.plot(places, values, "-o", color=ARM_A, linewidth=0.9, markersize=4.5, zorder=3)
    axes.set_ylim(-0.06, 1.06)
    axes.set_yticks([0, 0.5, 1], ["0", "50", "100"])
    axes.set_ylabel("yes (%)", rotation_mode="anchor")
    every = max(1, -(-len(shares.months) // 10))
    shown = [place for place in places if place % every == 0]
    axes.set_xticks(
        shown, [f"{shares.months[n]}\n{shares.yes[n]} / {shares.seen[n]}" for n in shown]
    )
    told = "no limits"
    if shares.limits is not None and shares.limits.centre is not None:
        limits = shares.limits
        axes.axhline(shares.limits.centre, color=INK, linewidth=1.0, zorder=1)
        for edge in (limits.lower, limits.upper):
            axes.step(places, edge, where="mid", color=QUIET, linewidth=0.9, linestyle=(0, (4, 3)))
        told = "no month outside" if not limits.outside else f"{len(limits.outside)} outside"
        for place in limits.outside:
            _ring(axes, place - 1, values[place - 1])
    _title(axes, f"Share of yes ({told})")


def _mark_changes(axes: "Axes", changes: "Sequence[BeforeAfter]", places: Sequence[float]) -> None:
    for mark, place in zip(_marks(changes), places, strict=True):
        _mark(axes, mark, place)


def _mark(axes: "Axes", mark: str, place: float) -> None:
    axes.axvline(place, color=ALARM, linewidth=1.1, linestyle=(0, (1, 1.5)), zorder=2)
    letters = Letters(across="center", weight="bold", colour=ALARM, backing=PAPER)
    write(axes, (place, 0.99), [mark], letters, transform=axes.get_xaxis_transform())


def _marks(changes: "Sequence[BeforeAfter]") -> list[str]:
    return [chr(ord("a") + place % 26) for place in range(len(changes))]


def _legend(changes: "Sequence[BeforeAfter]") -> list[str]:
    """Say what each mark stands for, one line each."""
    lines = []
    for mark, change in zip(_marks(changes), changes, strict=True):
        moment = change.moment
        day = f", {moment.date}" if moment.date else ""
        lines.append(shortened(f"{mark}: from client {moment.client} on{day}: {moment.words}", 112))
    if len(lines) > _MOST_CHANGES:
        lines = [*lines[:_MOST_CHANGES], f"and {len(lines) - _MOST_CHANGES} more"]
    return lines


def _finish(axes: "Axes", words: str, legend: list[str], foot: float) -> None:
    axes.set_xlabel(words, labelpad=2)
    if legend:
        letters = Letters(size=7.5, colour=ALARM)
        write(axes, (-0.07, -foot / _PANEL), legend, letters, transform=axes.transAxes)
