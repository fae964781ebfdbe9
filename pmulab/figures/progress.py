"""How a running study stands: pace, gaps and safety; the arms stay hidden."""

from typing import TYPE_CHECKING

from matplotlib.ticker import MaxNLocator

from pmulab.figures.lettering import Letters, block, broken, shortened, write
from pmulab.figures.palette import ALARM, ARM_A, INK, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.wording import running_lines, safety_lines

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from pmulab.findings import Running

WIDTH = 7.1
_MOST_GAPS = 5


def running(running: "Running") -> Picture:
    """Draw how far a running study has come.

    Parameters
    ----------
    running : Running

    Returns
    -------
    Picture
        Bars of clients against the number planned, what was left out, and what went wrong, over
        both arms together.
    """
    # what is said of harm is never cut: the picture grows instead
    told = [line for text in safety_lines(running.safety) for line in broken(text, 62, len(text))]
    gaps = sorted(running.missing_values.items(), key=lambda item: (-item[1], item[0]))
    height = 1.83 + 0.15 * max(len(told), min(len(gaps), _MOST_GAPS) + 1)

    def draw(sheet: "Figure") -> None:
        foot = height - 1.5
        bars = sheet.add_axes((0.225, (foot + 0.18) / height, 0.66, 1.05 / height))
        _bars(bars, running)
        words = sheet.add_axes((0, 0, 1, foot / height))
        words.set_axis_off()
        _words(words, told, gaps, alarm=bool(running.safety.stop))

    return drawn(
        draw,
        title="How the study stands, arms hidden",
        alt=" ".join(running_lines(running)),
        width=WIDTH,
        height=height,
    )


def _bars(axes: "Axes", running: "Running") -> None:
    counts = {
        "Asked": running.asked,
        "Enrolled": running.enrolled,
        "Worked on": running.treated,
        "Main measure complete": running.with_primary,
    }
    widest = max([running.planned, *counts.values(), 1])
    for place, (name, count) in enumerate(counts.items()):
        if name != "Asked":
            axes.barh(place, running.planned, height=0.62, facecolor="none", edgecolor=QUIET)
        colour = QUIET if name == "Asked" else ARM_A
        axes.barh(place, count, height=0.62, color=colour, edgecolor=colour)
        said = str(count) if name == "Asked" else f"{count} of {running.planned}"
        write(axes, (1.01 * widest, place), [said], Letters(down="center", weight="bold"))
    axes.set_xlim(0, widest)
    axes.set_ylim(3.6, -0.6)
    axes.set_yticks(range(4), list(counts))
    axes.tick_params(axis="y", length=0)
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.spines["left"].set_visible(False)
    write(
        axes,
        (0, 1.03),
        [_pace(running)],
        Letters(down="bottom", weight="bold"),
        transform=axes.get_xaxis_transform(),
    )


def _pace(running: "Running") -> str:
    parts = [f"Clients; outline: {running.planned} planned"]
    if running.days_running is not None:
        parts.append(f"day {running.days_running}")
    if running.last_enrolment:
        parts.append(f"last enrolled {running.last_enrolment}")
    return " · ".join(parts)


def _words(axes: "Axes", told: list[str], gaps: list[tuple[str, int]], *, alarm: bool) -> None:
    top = axes.transAxes
    heads = ["Adverse events, both ways together"]
    write(axes, (0.02, 0.9), heads, Letters(weight="bold"), transform=top)
    write(axes, (0.02, 0.9), ["", *told], Letters(colour=ALARM if alarm else INK), transform=top)
    lines = [f"{shortened(name, 32)}: {count}" for name, count in gaps[:_MOST_GAPS]] or ["nothing"]
    if len(gaps) > _MOST_GAPS:
        lines.append(f"and {len(gaps) - _MOST_GAPS} further columns")
    block(axes, (0.62, 0.9), ["Left out with a reason"], lines, transform=top)
