"""The picture people look at first: every client, next to the difference and what it means."""

from typing import TYPE_CHECKING

from pmulab.figures.columns import dodged, draw_clients, draw_counts
from pmulab.figures.lettering import (
    LEADING,
    SIZE,
    Letters,
    axis_label,
    broken,
    headline,
    number,
    shortened,
    write,
)
from pmulab.figures.palette import BAND, INK, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.findings.held_back import all_held_back
from pmulab.wording import (
    better_words,
    capital,
    difference_parts,
    difference_words,
    direction_words,
    headline_words,
    only_measured,
    unit_of,
    with_unit,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from pmulab.findings import Effect
    from pmulab.plan import Plan

WIDTH, HEIGHT = 7.1, 2.7
_LINES = 2
"""Below the headlines, as far as there is room without making the picture higher."""
NOT_DRAWN = "a few clients did not agree to be shown, so nobody is"
"""Why single values are missing: beside the average they would tell those of the others."""


def pairs(effect: "Effect", plan: "Plan") -> Picture:
    """Draw every client's values beside the difference, its interval and what would matter.

    Parameters
    ----------
    effect : Effect
    plan : Plan
        Names the arms; decides whether values of one client are joined.

    Returns
    -------
    Picture
        Left: a line a client (within one person), two columns of points (between clients), or
        a table of counts (yes/no). Right: the difference A - B, the shaded band too small to
        matter.
    """
    left = draw_counts if effect.outcome.yes_no else draw_clients
    heading, counts = _left_title(effect, plan)
    lines = max(len(counts), len(_interval_lines(effect)))
    height = HEIGHT + max(lines - _LINES, 0) * SIZE * LEADING / 72
    bottom, reach = 0.245 * HEIGHT / height, 0.54 * HEIGHT / height

    def draw(sheet: "Figure") -> None:
        clients = sheet.add_axes((0.085, bottom, 0.42, reach))
        left(clients, effect, plan)
        headline(clients, heading, [*counts, *[""] * (lines - len(counts))])
        _difference(sheet.add_axes((0.6, bottom, 0.385, reach)), effect, lines)

    title = f"{capital(effect.outcome.title)}: {plan.arms.A.label} (A), {plan.arms.B.label} (B)"
    return drawn(draw, title=title, alt=_told(effect, plan), width=WIDTH, height=height)


def _interval_lines(effect: "Effect") -> list[str]:
    """Give the lines below the headline of the right half."""
    below = headline_words(effect)[1:]
    return [*below, *broken(difference_parts(effect)[1], 54, 2)]


def _left_title(effect: "Effect", plan: "Plan") -> tuple[str, list[str]]:
    """Give the heading of the left half and how many clients stand in it."""
    every = "Every client, both ways" if plan.within_person else "Every client"
    if plan.within_person:
        groups = [("clients with both values", effect.difference.n, len(_differences(effect)))]
    else:
        seen_a, seen_b = (
            sum(value is not None for value in values)
            for values in zip(*((one.a, one.b) for one in effect.clients), strict=True)
        ) if effect.clients else (0, 0)  # fmt: skip
        groups = [("clients with A", effect.a.n, seen_a), ("with B", effect.b.n, seen_b)]
    counts = " · ".join(f"{words}: {n}" for words, n, _ in groups)
    if all(n == seen for _, n, seen in groups):
        return every, [counts]
    if all_held_back(effect):
        return _averages(effect), [counts, NOT_DRAWN]
    told = " · ".join(
        f"{words}: {n}" + (f", {seen} of them shown" if seen < n else "")
        for words, n, seen in groups
    )
    return "Every client who agreed", [told, "(the others did not agree to it)"]


def _averages(effect: "Effect") -> str:
    return "Shares of yes" if effect.outcome.yes_no else "Averages"


def _told(effect: "Effect", plan: "Plan") -> str:
    shown = "Every client's two values, joined" if plan.within_person else "Every client's value"
    if all_held_back(effect):
        shown = f"The two {_averages(effect).lower()} ({NOT_DRAWN})"
    elif effect.outcome.yes_no:
        shown = "Counts of yes and no"
    outcome = effect.outcome
    counts = better_words(effect, "A", "B")
    return (
        f"{shown}, beside the difference A minus B with its interval; a shaded band shows what is "
        f"too small to matter (under {with_unit(outcome.worthwhile, outcome)}). "
        f"{difference_words(effect, plan)} {counts}".strip()
    )


def _difference(axes: "Axes", effect: "Effect", lines: int) -> None:
    outcome, estimate = effect.outcome, effect.difference
    each = [] if outcome.yes_no else _differences(effect)
    reach = [*each, outcome.worthwhile, -outcome.worthwhile]
    if estimate.value is not None:
        reach.append(estimate.value)
    if estimate.interval is not None:
        reach += [estimate.interval.low, estimate.interval.high]
    margin = 0.2 * (max(reach) - min(reach))
    axes.set_ylim(min(reach) - margin, max(reach) + margin)
    axes.set_xlim(-0.45, 2.1)
    axes.set_xticks([])
    axes.yaxis.set_major_formatter(lambda value, _: number(value))
    axes.set_ylabel(axis_label("Difference A − B", unit_of(outcome), 40), rotation_mode="anchor")
    _band(axes, outcome.worthwhile)
    offsets = dodged(each, 0.085, 0.5)
    axes.plot(offsets, each, "o", color=QUIET, markersize=4, markeredgewidth=0, zorder=3.5)
    _estimate(axes, effect, lines)
    _sides(axes, effect)
    _key(axes, effect)


def _differences(effect: "Effect") -> list[float]:
    return [
        client.a - client.b
        for client in effect.clients
        if client.a is not None and client.b is not None
    ]


def _band(axes: "Axes", worthwhile: float) -> None:
    axes.axhspan(-worthwhile, worthwhile, facecolor=BAND, zorder=0)
    for edge in (-worthwhile, worthwhile):
        axes.axhline(edge, color=QUIET, linewidth=0.8, linestyle=(0, (3, 2)), zorder=1)
    # over the backing of the words beside it, between their two lines
    axes.axhline(0, color=INK, linewidth=0.8, zorder=3.2)


def _estimate(axes: "Axes", effect: "Effect", lines: int) -> None:
    estimate = effect.difference
    if estimate.interval is not None:
        ends = [estimate.interval.low, estimate.interval.high]
        axes.plot([0.6, 0.6], ends, color=INK, linewidth=2.2, zorder=3.5)
        axes.plot([0.6, 0.6], ends, "_", color=INK, markersize=9, markeredgewidth=1.6, zorder=3.5)
    if estimate.value is not None:
        axes.plot(0.6, estimate.value, "D", color=INK, markersize=7, zorder=4)
    said = _interval_lines(effect)
    headline(axes, shortened(headline_words(effect)[0], 46), [*said, *[""] * (lines - len(said))])


def _sides(axes: "Axes", effect: "Effect") -> None:
    # After harm no picture says that a way is better, whatever this outcome shows.
    below, above = ("", "") if only_measured(effect) else direction_words(effect.outcome)
    right = axes.get_yaxis_transform()
    write(axes, (0.99, 0.97), [above], Letters(across="right", size=7.5), transform=axes.transAxes)
    write(
        axes,
        (0.99, 0.03),
        [below],
        Letters(across="right", down="bottom", size=7.5),
        transform=axes.transAxes,
    )
    said = f"under {with_unit(effect.outcome.worthwhile, effect.outcome)}"
    lines = ["too small to matter", shortened(said, 26)]
    write(
        axes,
        (0.99, 0),
        lines,
        Letters(across="right", down="center", size=7.5, backing=BAND),
        transform=right,
    )


def _key(axes: "Axes", effect: "Effect") -> None:
    middle = "typical difference" if effect.typical_leads else "average"
    diamond = f"diamond with bar: {middle} with its interval"
    if effect.difference.interval is None:
        diamond = f"diamond: {middle}" if effect.difference.value is not None else ""
    lines = [diamond] if diamond else []
    if _differences(effect) and not effect.outcome.yes_no:
        lines.insert(0, "dot: one client")
    write(
        axes,
        (0.5, -0.06),
        [" · ".join(lines)] if lines else [],
        Letters(across="center", size=7, colour=QUIET),
        transform=axes.transAxes,
    )
