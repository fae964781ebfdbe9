"""What a number of clients could show, before anybody is asked."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from matplotlib.ticker import MaxNLocator

from pmulab.figures.lettering import Letters, axis_label, number, shortened, write
from pmulab.figures.palette import ARM_A, ARM_B, BAND, INK, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.wording.amounts import sized

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH, HEIGHT = 7.1, 3.2

Row = tuple[int, float | None, float | None]
"""Clients, expected half-width of the interval, half-width that four studies in five stay under."""


def what_n_could_show(
    rows: Sequence[Row], *, worthwhile: float, unit: str, planned: int | None = None
) -> Picture:
    """Draw how wide the interval would be for each number of clients.

    Parameters
    ----------
    rows : sequence of (n, half_width, half_width_with_assurance)
        In the outcome's unit; None where no interval exists for so few clients.
    worthwhile : float
        Smallest worthwhile difference, in the unit.
    unit : str
    planned : int or None
        The number to be marked.

    Returns
    -------
    Picture
    """
    expected = [(n, width) for n, width, _ in rows if width is not None]
    assured = [(n, width) for n, _, width in rows if width is not None]

    def draw(sheet: "Figure") -> None:
        axes = sheet.add_axes((0.085, 0.15, 0.56, 0.79))
        _frame(axes, [*expected, *assured], worthwhile, unit)
        _line(axes, expected, ARM_A, "o", "-", "on average")
        _line(axes, assured, ARM_B, "s", "--", "in 4 of 5 such studies, at most")
        if planned is not None:
            axes.axvline(planned, color=INK, linewidth=1.2, linestyle=":")
        _words(axes, worthwhile, unit, planned)
        if expected or assured:
            _legend(axes)

    return drawn(
        draw,
        title="What a number of clients could show",
        alt=_told(expected, worthwhile, unit, planned),
        width=WIDTH,
        height=HEIGHT,
    )


def _frame(axes: "Axes", points: list[tuple[int, float]], worthwhile: float, unit: str) -> None:
    top = max([worthwhile * 1.6, *(width * 1.06 for _, width in points)])
    axes.set_ylim(0, top)
    clients = [n for n, _ in points] or [2, 20]
    axes.set_xlim(min(clients) - 1, max(clients) + 1)
    axes.axhspan(0, worthwhile, facecolor=BAND, zorder=0)
    axes.axhline(worthwhile, color=QUIET, linewidth=0.9, linestyle=(0, (3, 2)), zorder=1)
    axes.set_ylabel(axis_label("Interval, to either side", unit, 46), rotation_mode="anchor")
    axes.set_xlabel("Clients")
    axes.yaxis.set_major_formatter(lambda value, _: number(value))
    if len(set(clients)) <= 12:
        axes.set_xticks(sorted(set(clients)))
    else:
        axes.xaxis.set_major_locator(MaxNLocator(8, integer=True))


def _legend(axes: "Axes") -> None:
    axes.legend(
        loc="upper left",
        bbox_to_anchor=(1.03, 1.0),
        frameon=False,
        borderaxespad=0,
        title="Width to either side",
        alignment="left",
    )


def _line(
    axes: "Axes",
    points: list[tuple[int, float]],
    colour: str,
    marker: str,
    style: str,
    words: str,
) -> None:
    if points:
        axes.plot(
            *zip(*points, strict=True),
            color=colour,
            marker=marker,
            markersize=4.5,
            linestyle=style,
            linewidth=1.4,
            label=words,
        )


def _words(axes: "Axes", worthwhile: float, unit: str, planned: int | None) -> None:
    beside, top = axes.get_yaxis_transform(), axes.get_xaxis_transform()
    matters = shortened(sized(number(worthwhile), unit), 30)
    lines = [matters, "would matter;", "below the line, the", "answer can be clear"]
    write(axes, (1.03, worthwhile), lines, Letters(colour=INK), transform=beside)
    if planned is not None:
        words = [f"planned: {planned}"]
        write(axes, (planned, 1.01), words, Letters(across="center", down="bottom"), transform=top)


def _told(
    expected: list[tuple[int, float]], worthwhile: float, unit: str, planned: int | None
) -> str:
    enough = [n for n, width in sorted(expected) if width <= worthwhile]
    least = (
        f"From {enough[0]} clients on it is expected to be narrow enough."
        if enough
        else "For no number shown is it expected to be narrow enough."
    )
    widths = "; ".join(f"{n} clients {width:.3g} {unit}" for n, width in expected)
    marked = f" Planned: {planned} clients." if planned is not None else ""
    return (
        f"Expected width of the interval to either side: {widths or 'none exists'}. It has to be "
        f"at most {number(worthwhile)} {unit} for a clear answer. {least}{marked}"
    )
