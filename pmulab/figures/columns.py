"""The left half of the main picture: what each client had under either way."""

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from matplotlib.collections import LineCollection
from matplotlib.ticker import MaxNLocator

from pmulab.figures.lettering import Letters, axis_label, broken, number, shortened, write
from pmulab.figures.palette import (
    ARM_COLOURS,
    ARM_MARKERS,
    ARM_SIGNS,
    BAND,
    INK,
    JOIN,
    PAPER,
    QUIET,
)
from pmulab.findings.held_back import all_held_back
from pmulab.wording import capital, decimals

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from pmulab.findings import ClientValues, Effect
    from pmulab.plan import Key, Plan

_PLACES: "dict[Key, float]" = {"A": 0.0, "B": 1.0}
_SHORT_NAME = 14


def dodged(values: Sequence[float], spacing: float, widest: float) -> list[float]:
    """Give each of several equal values a place of its own, in the order given.

    Parameters
    ----------
    values : sequence of float
    spacing, widest : float
        Distance of two neighbours, and of the outermost two at most.

    Returns
    -------
    list of float
        One offset a value, 0 for a value that stands alone.
    """
    rows: dict[float, list[int]] = defaultdict(list)
    for index, value in enumerate(values):
        rows[value].append(index)
    offsets = [0.0] * len(values)
    for members in rows.values():
        step = min(spacing, widest / max(len(members) - 1, 1))
        for place, index in enumerate(members):
            offsets[index] = (place - (len(members) - 1) / 2) * step
    return offsets


def draw_clients(axes: "Axes", effect: "Effect", plan: "Plan") -> None:
    """Draw every client's value under A and under B, joined where one client has both.

    Parameters
    ----------
    axes : Axes
    effect : Effect
        Of an outcome that is a number.
    plan : Plan
    """
    places = {key: _places(effect.clients, key) for key in _PLACES}
    both = [
        one.client for one in effect.clients if all(one.client in own for own in places.values())
    ]
    joins = LineCollection(
        [[places[key][client] for key in _PLACES] for client in both], colors=JOIN, linewidths=0.9
    )
    axes.add_collection(joins, autolim=False)
    for key in _PLACES:
        _markers(axes, effect.clients, key, places[key])
        _average(axes, effect, key)
    axes.set_xlim(-0.75, 1.75)
    drawn = [value for place in places.values() for _, value in place.values()]
    means = [arm.mean for arm in (effect.a, effect.b) if arm.mean is not None]
    _room(axes, [*drawn, *means], effect)
    axes.set_ylabel(
        axis_label(capital(effect.outcome.title), effect.outcome.unit, 40),
        rotation_mode="anchor",
    )
    axes.yaxis.set_major_formatter(lambda value, _: number(value))
    if effect.outcome.kind in ("ordinal", "count"):
        axes.yaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.set_xticks([])
    _arm_names(axes, plan)
    _fill_legend(axes, effect)


def _value(client: "ClientValues", key: "Key") -> float | None:
    return client.a if key == "A" else client.b


def _places(clients: "tuple[ClientValues, ...]", key: "Key") -> dict[int, tuple[float, float]]:
    """Give place and value of every client seen under an arm, equal values side by side."""
    other: Key = "B" if key == "A" else "A"
    seen = sorted(
        (client for client in clients if _value(client, key) is not None),
        key=lambda client: (_value(client, other) or 0.0, client.client),
    )
    values = [value for client in seen if (value := _value(client, key)) is not None]
    offsets = dodged(values, 0.075, 0.5)
    return {
        client.client: (_PLACES[key] + offset, value)
        for client, offset, value in zip(seen, offsets, values, strict=True)
    }


def _markers(
    axes: "Axes",
    clients: "tuple[ClientValues, ...]",
    key: "Key",
    places: dict[int, tuple[float, float]],
) -> None:
    colour = ARM_COLOURS[key]
    for face, later in ((colour, False), (PAPER, True)):
        seen = [
            places[one.client]
            for one in clients
            if one.client in places
            and (one.a_first is not None and one.a_first != (key == "A")) == later
        ]
        axes.plot(
            [across for across, _ in seen],
            [up for _, up in seen],
            marker=ARM_MARKERS[key],
            markersize=5,
            markeredgecolor=colour,
            markerfacecolor=face,
            linestyle="none",
            zorder=2,
            clip_on=False,
        )


def _average(axes: "Axes", effect: "Effect", key: "Key") -> None:
    mean = (effect.a if key == "A" else effect.b).mean
    if mean is None:
        return
    outward = -1 if key == "A" else 1
    start = _PLACES[key] + 0.32 * outward
    axes.plot([start, start + 0.1 * outward], [mean, mean], color=INK, linewidth=2.5)
    said = f"{mean:,.{decimals(effect.outcome)}f}" if abs(mean) < 1e6 else number(mean)
    write(
        axes,
        (start + 0.13 * outward, mean),
        [said],
        Letters(across="right" if key == "A" else "left", down="center", weight="bold"),
    )


def _room(axes: "Axes", values: list[float], effect: "Effect") -> None:
    low, high = (min(values), max(values)) if values else (effect.outcome.low, effect.outcome.high)
    margin = 0.08 * (high - low) or effect.outcome.worthwhile
    axes.set_ylim(low - margin, high + margin)


def _arm_names(axes: "Axes", plan: "Plan") -> None:
    short = all(len(plan.arms.label(key)) <= _SHORT_NAME for key in _PLACES)
    apart = 0.0 if short else 0.2  # long names would meet in the middle
    for key, centre in _PLACES.items():
        place = centre + (-apart if key == "A" else apart)
        lines = broken(f"{ARM_SIGNS[key]} {key}: {plan.arms.label(key)}", 24, 2)
        below = axes.get_xaxis_transform()
        write(
            axes,
            (place, -0.06),
            lines,
            Letters(across="center", colour=ARM_COLOURS[key], weight="bold"),
            transform=below,
        )


def _fill_legend(axes: "Axes", effect: "Effect") -> None:
    if effect.a.mean is None and effect.b.mean is None:
        return
    legend = "bar: average"
    if any(client.a_first is not None for client in effect.clients):
        legend = f"filled: worked first · open: worked second · {legend}"
    letters = Letters(across="center", size=7, colour=QUIET)
    write(axes, (0.5, -0.29), [legend], letters, transform=axes.transAxes)


def draw_counts(axes: "Axes", effect: "Effect", plan: "Plan") -> None:
    """Draw a yes/no outcome as a small table of counts.

    Parameters
    ----------
    axes : Axes
    effect : Effect
        Of a yes/no outcome: any value above 0 is a 'yes'.
    plan : Plan
        Within one person the four kinds of pairs are counted, otherwise the answers by arm; only
        the shares of either way where no client may be shown.
    """
    cells = _pair_cells(effect) if plan.within_person else _arm_cells(effect)
    if all_held_back(effect):
        cells = _share_cells(effect)
    labels = {key: shortened(f"{key}: {plan.arms.label(key)}", 34) for key in _PLACES}
    axes.set_xlim(0, 2)
    axes.set_ylim(0, 2)
    axes.set_axis_off()
    for row, column, count, words, telling in cells:
        left, bottom = column, 1 - row
        axes.fill_between(
            [left + 0.03, left + 0.97],
            bottom + 0.04,
            bottom + 0.96,
            facecolor=PAPER if telling else BAND,
            edgecolor=INK if telling else QUIET,
            linewidth=1.6 if telling else 0.8,
        )
        middle = (left + 0.5, bottom + 0.62)
        write(
            axes,
            middle,
            [count],
            Letters(across="center", down="center", size=17, weight="bold"),
        )
        write(axes, (left + 0.5, bottom + 0.3), [words], Letters(across="center", down="center"))
    heads = [shortened(f"{capital(effect.outcome.title)}: yes or no?", 46)]
    write(axes, (1, -0.08), heads, Letters(across="center", weight="bold"))
    for line, key in enumerate(_PLACES):
        write(
            axes,
            (1, -0.27 - 0.18 * line),
            [labels[key]],
            Letters(across="center", colour=ARM_COLOURS[key], weight="bold"),
        )


_Cell = tuple[int, int, str, str, bool]


def _pair_cells(effect: "Effect") -> list[_Cell]:
    """Count the pairs of answers of the clients who are shown."""
    pairs = [(one.a > 0, one.b > 0) for one in effect.clients
             if one.a is not None and one.b is not None]  # fmt: skip
    return [
        (0, 0, str(pairs.count((True, True))), "yes with both", False),
        (0, 1, str(pairs.count((True, False))), "yes only with A", True),
        (1, 0, str(pairs.count((False, True))), "yes only with B", True),
        (1, 1, str(pairs.count((False, False))), "yes with neither", False),
    ]


def _arm_cells(effect: "Effect") -> list[_Cell]:
    cells: list[_Cell] = []
    for column, key in enumerate(_PLACES):
        said = [value > 0 for one in effect.clients if (value := _value(one, key)) is not None]
        cells.append((0, column, str(said.count(True)), f"{key}: yes", True))
        cells.append((1, column, str(said.count(False)), f"{key}: no", False))
    return cells


def _share_cells(effect: "Effect") -> list[_Cell]:
    """Give the shares of everybody, where counts would tell the answers of a few."""
    shares = (("A", effect.a.mean), ("B", effect.b.mean))
    return [
        (row, column, f"{share:.0f} %", f"{key}: {word}", word == "yes")
        for column, (key, yes) in enumerate(shares)
        if yes is not None
        for row, (word, share) in enumerate((("yes", yes), ("no", 100 - yes)))
    ]
