"""How the average difference wanders while both ways are truly the same."""

from typing import TYPE_CHECKING

from pmulab.figures.lettering import Letters, axis_label, number, write
from pmulab.figures.palette import ALARM, ARM_A, BAND, INK, JOIN, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.luck import CLIENTS, UNIT, Moment, Series
from pmulab.wording.luck import replay_lines

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH, HEIGHT = 7.1, 3.4
_LEAST_REACH = 3.0


def wandering(series: Series, shown: int) -> Picture:
    """Draw the running average of a series, and mark each moment at which it fools.

    Parameters
    ----------
    series : Series
    shown : int
        Clients seen so far.

    Returns
    -------
    Picture
        The frame stays the same from client to client, so that nothing jumps.
    """
    seen = series.moments[:shown]
    reach = max(_LEAST_REACH, *(abs(edge) for one in series.moments for edge in _edges(one)))

    def draw(sheet: "Figure") -> None:
        axes = sheet.add_axes((0.085, 0.15, 0.66, 0.79))
        _frame(axes, 1.06 * reach)
        _moments(axes, seen)
        _words(axes)

    return drawn(
        draw,
        title=f"Series {series.number}: the average so far, client by client",
        alt=" ".join(replay_lines(series, shown)),
        width=WIDTH,
        height=HEIGHT,
    )


def _edges(moment: Moment) -> tuple[float, ...]:
    return tuple(one for one in (moment.low, moment.own, moment.high) if one is not None)


def _frame(axes: "Axes", reach: float) -> None:
    axes.set_xlim(0.4, CLIENTS + 0.6)
    axes.set_ylim(-reach, reach)
    axes.axhline(0, color=INK, linewidth=1.0, zorder=1)
    axes.set_xticks(range(2, CLIENTS + 1, 2))
    axes.set_xlabel("Clients so far")
    axes.set_ylabel(axis_label("Average difference A − B", UNIT, 46), rotation_mode="anchor")
    axes.yaxis.set_major_formatter(lambda value, _: number(value))


def _moments(axes: "Axes", seen: tuple[Moment, ...]) -> None:
    clients = [one.client for one in seen]
    axes.plot(clients, [one.own for one in seen], "o", color=JOIN, markersize=2.8, zorder=2)
    axes.plot(clients, [one.mean for one in seen], "-", color=ARM_A, linewidth=1.4, zorder=3)
    for one in seen:
        colour = ALARM if one.found else ARM_A
        if one.low is not None and one.high is not None:
            axes.plot(
                [one.client] * 2,
                [one.low, one.high],
                color=colour,
                linewidth=2.4 if one.found else 1.0,
                zorder=2,
            )
        axes.plot(
            one.client,
            one.mean,
            marker="D" if one.found else "o",
            markersize=6.5 if one.found else 3.5,
            color=colour,
            zorder=4,
        )
    if seen:
        axes.axvspan(0.4, seen[-1].client + 0.5, facecolor=BAND, alpha=0.45, zorder=0)


def _words(axes: "Axes") -> None:
    """Say beside the picture what the marks mean, each with its own mark."""
    across = axes.transAxes
    marks = (
        (0.95, "o", 3.5, ARM_A, ["average so far,", "with its interval"]),
        (0.80, "D", 6.5, ALARM, ["somebody looking now", "would 'find' something"]),
        (0.67, "o", 2.8, JOIN, ["one client"]),
    )
    for height, marker, size, colour, said in marks:
        axes.plot(
            1.045, height, marker, markersize=size, color=colour, transform=across, clip_on=False
        )
        write(axes, (1.075, height), said, Letters(down="center"), transform=across)
    truth = Letters(down="center", colour=QUIET)
    write(
        axes, (1.03, 0), ["the truth: no difference"], truth, transform=axes.get_yaxis_transform()
    )
