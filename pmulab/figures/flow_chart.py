"""From asking to analysing: boxes of people and eyelids, with everyone who was lost on the way."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pmulab.counting import counted
from pmulab.figures.lettering import LEADING, Letters, block, broken, few, shortened, write
from pmulab.figures.palette import INK, PAPER, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.wording import flow_lines

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from pmulab.findings import Findings

WIDTH = 7.1
_BOX_HEIGHT = 0.7
_SMALL = 7.0
MOST_REASONS = 3
"""Kinds of reasons told one by one, if not said otherwise."""


@dataclass(frozen=True, slots=True)
class _Stage:
    """A box of the chain, and the lines about those who did not reach it."""

    title: str
    counts: tuple[str, ...]
    lost: tuple[str, ...] = ()


def flow(findings: "Findings", most: int = MOST_REASONS) -> Picture:
    """Draw how many clients and eyelids went from asking to analysing.

    Parameters
    ----------
    findings : Findings
        With all reasons, however many.
    most : int, default=3
        Kinds of reasons told one by one; the rest is counted, in picture and description alike.

    Returns
    -------
    Picture
        Boxes from left to right in the order of time; below each arrow, who was lost and why.
    """
    counts = findings.flow
    cut = replace(
        counts,
        not_eligible_reasons=few(counts.not_eligible_reasons, most),
        unseen_reasons=few(counts.not_seen, most),
    )
    stages = _stages(replace(findings, flow=cut))
    width = 36 if len(stages) < 5 else 28
    below = [[line for text in stage.lost for line in _lines(text, width)] for stage in stages]
    depth = max(map(len, below)) * _SMALL * LEADING / 72
    height = _BOX_HEIGHT + 0.1 + (depth + 0.29 if depth else 0)

    def draw(sheet: "Figure") -> None:
        axes = sheet.add_axes((0, 0, 1, 1))
        axes.set_xlim(0, WIDTH)
        axes.set_ylim(height, 0)
        axes.set_axis_off()
        _chain(axes, stages, below)

    return drawn(
        draw,
        title="From asking to analysing",
        alt="Boxes joined by arrows. " + " ".join(flow_lines(cut)),
        width=WIDTH,
        height=height,
    )


def _lines(text: str, width: int) -> list[str]:
    return broken(shortened(text, 2 * width - 8), width, 2)


def _stages(findings: "Findings") -> list[_Stage]:
    plan, flow = findings.plan, findings.flow

    def people(count: int) -> tuple[str, ...]:
        counts = (counted(count, "client"), counted(2 * count, "eyelid"))
        return counts if plan.within_person else counts[:1]

    arms = f"A: {findings.primary.a.n}, B: {findings.primary.b.n}"
    analysed = counted(flow.eyelids_analysed, "eyelid") if plan.within_person else arms
    stages = [
        _Stage("Asked", (counted(flow.asked, "client"),)),
        _Stage("Drawn by lot", people(flow.allocated), _not_drawn(findings)),
        _Stage("Worked on", people(flow.treated), _not_worked(findings)),
    ]
    healed = _Stage("Healed result seen", people(flow.seen_healed), _not_seen(findings))
    counts = (counted(flow.analysed, "client"), analysed)
    compared = _Stage("In the main comparison", counts, _not_compared(findings))
    if plan.primary.table == "healed":
        return [*stages, healed, compared]
    if any(outcome.table == "healed" for outcome in plan.outcomes):
        return [*stages, compared, healed]
    return [*stages, compared]


def _counted(words: str, count: int, reasons: tuple[str, ...] = ()) -> list[str]:
    if count <= 0:
        return []
    return [f"{words}: {count}", *(f"· {reason}" for reason in reasons)]


def _not_drawn(findings: "Findings") -> tuple[str, ...]:
    flow = findings.flow
    other = flow.asked - flow.not_eligible - flow.no_consent - flow.allocated
    return (
        *_counted("Could not take part", flow.not_eligible, flow.not_eligible_reasons),
        *_counted("Did not agree", flow.no_consent),
        *_counted("Not drawn for another reason", other),
    )


def _not_worked(findings: "Findings") -> tuple[str, ...]:
    flow = findings.flow
    return (
        *_counted("Drawn, not worked on", flow.allocated - flow.treated),
        *_counted("Not as drawn, kept in", flow.wrong_arm),
    )


def _not_seen(findings: "Findings") -> tuple[str, ...]:
    flow = findings.flow
    return tuple(_counted("Not seen healed", flow.treated - flow.seen_healed, flow.not_seen))


def _not_compared(findings: "Findings") -> tuple[str, ...]:
    flow, primary = findings.flow, findings.primary
    before = flow.seen_healed if primary.outcome.table == "healed" else flow.treated
    return (
        *_counted("Not in it", before - flow.analysed),
        *_counted("Consent taken back", flow.withdrawn),
    )


def _chain(axes: "Axes", stages: list[_Stage], below: list[list[str]]) -> None:
    pitch = WIDTH / len(stages)
    half = (pitch - 0.34) / 2
    middle, bottom = 0.04 + _BOX_HEIGHT / 2, 0.04 + _BOX_HEIGHT
    for place, (stage, lost) in enumerate(zip(stages, below, strict=True)):
        centre = (place + 0.5) * pitch
        last = place == len(stages) - 1
        _box(
            axes, (centre - half, centre + half), (0.04, bottom), heavy="comparison" in stage.title
        )
        titles = broken(stage.title, 17 if len(stages) == 5 else 24, 2)
        block(axes, (centre, middle), titles, stage.counts, Letters(across="center", down="center"))
        if not last:
            _arrow(axes, (centre + half, middle), (centre + pitch - half, middle))
        if lost:
            gap = centre - pitch / 2
            _arrow(axes, (gap, middle), (gap, bottom + 0.24))
            write(
                axes,
                (gap, bottom + 0.28),
                lost,
                Letters(across="center", size=_SMALL, colour=QUIET),
            )


def _box(
    axes: "Axes", across: tuple[float, float], down: tuple[float, float], *, heavy: bool
) -> None:
    axes.fill_between(
        across, *down, facecolor=PAPER, edgecolor=INK, linewidth=1.8 if heavy else 0.9
    )


def _arrow(axes: "Axes", start: tuple[float, float], end: tuple[float, float]) -> None:
    axes.annotate(
        "",
        xy=end,
        xytext=start,
        arrowprops={
            "arrowstyle": "-|>",
            "color": INK,
            "linewidth": 0.9,
            "shrinkA": 0,
            "shrinkB": 0,
            "mutation_scale": 8,
        },
    )
