"""Further checklists: how both ways were done, and a series of clients.

References
----------
.. [1] T. C. Hoffmann et al. (2014), TIDieR, BMJ 348:g1687.
.. [2] R. L. Tate et al. (2016), SCRIBE 2016, Arch. Sci. Psychol. 4:1-9 (items 13 to 26 from
   memory). All items are said in our own words.
"""

from collections.abc import Iterable, Iterator

from pmulab.counting import counted
from pmulab.findings import Findings
from pmulab.practice import Line, Shares, Watched
from pmulab.sharing import filling
from pmulab.sharing.agreement_items import agreement_items
from pmulab.sharing.item import Item, Who
from pmulab.sharing.reporting import items
from pmulab.wording import capital

SERIES_SOURCE = "After SCRIBE 2016 for series of single cases (Tate et al. 2016), in our own words."
_FOOLED = "Under 'What could fool us'"


def checklists(findings: Findings) -> tuple[Item, ...]:
    """List all that a full report tells: the comparison, both ways, and agreement if scored.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    tuple of Item
        The statement's items for the design; then TIDieR 1 to 12 [1]_; then those of
        `agreement_items` where healed lines were scored in blind rounds.
    """
    ways = _numbered("TIDieR", _ways(findings))
    return (*items(findings), *ways, *agreement_items(findings))


def series_items(watched: Watched) -> tuple[Item, ...]:
    """List what a report of consecutive clients tells, SCRIBE 1 to 26 [2]_.

    Parameters
    ----------
    watched : Watched

    Returns
    -------
    tuple of Item
    """
    return tuple(_numbered("", [*_series(watched), *_course(watched)]))


_Row = tuple[str, Who, str]


def _numbered(name: str, rows: Iterable[_Row]) -> list[Item]:
    return [
        Item(f"{name} {number}".strip(), words, who if text else "you", text)
        for number, (words, who, text) in enumerate(rows, start=1)
    ]


def _ways(findings: Findings) -> Iterator[_Row]:
    plan, flow = findings.plan, findings.flow
    a, b = plan.arms.A, plan.arms.B
    healed = plan.healed
    yield "Name of each way", "kit", f"A: {a.label}; B: {b.label}"
    yield "Why each way might matter", "you", ""
    yield "Materials and tools of each way", "you", ""
    steps = f"A: {a.steps} B: {b.steps}" if a.steps.strip() and b.steps.strip() else ""
    yield "What was done, step by step", "kit, you confirm", steps
    yield "Who did it, with what training", "kit, you confirm", plan.study.operator
    each = "one eyelid after the other" if plan.within_person else "both eyelids alike"
    yield "How it was given", "kit, you confirm", f"One client at a time, {each}"
    yield "Where it was done", "kit, you confirm", plan.study.setting
    yield (
        "When and how much",
        "kit, you confirm",
        f"Once, in the first session; healed lines from day {healed.earliest} to {healed.latest}",
    )
    yield "What was fitted to the single client", "you", ""
    yield "What changed on the way", "kit, you confirm", filling.changes(findings)
    yield "How it was checked that each way was kept to", "kit", "Card against session record"
    kept = f"{flow.wrong_arm} of {counted(flow.treated, 'client')} not worked as drawn"
    yield "How far each way was kept to", "kit", kept


def _series(watched: Watched) -> Iterator[_Row]:
    """Items 1 to 13: what was asked and of whom."""
    clients = counted(watched.clients, "client")
    yield "The title says that it is a series", "kit", "Practice over time"
    yield "A summary", "kit", "This page"
    yield "What is known already", "you", ""
    yield "What was asked", "you", ""
    phases = f"Clients in a row; dated changes: {len(watched.moments)}"
    yield "Kind of series, its stretches", "kit, you confirm", phases
    yield "What changed, and when", "kit, you confirm", _changes(watched)
    yield "Whether it was repeated", "kit", "No: one practice, each change once"
    yield "What was drawn by lot", "kit", "Nothing"
    yield "Who knew what", "kit, you confirm", "Everybody knew; nothing was hidden"
    yield "Who was taken in", "kit, you confirm", f"All {clients} in the table, nobody left out"
    yield "Who the clients are", "you", ""
    yield "Where it was done", "you", ""
    yield "Who allowed it", "you", ""


def _course(watched: Watched) -> Iterator[_Row]:
    """Items 14 to 26: what was measured and found."""
    clients = counted(watched.clients, "client")
    series: tuple[Line | Shares, ...] = (*watched.lines, *watched.shares)
    measured = "; ".join(f"{capital(one.outcome.title)} ({one.outcome.unit})" for one in series)
    yield "What was measured, how and when", "kit, you confirm", measured
    yield "With which tools", "you", ""
    yield "What was done to the clients", "you", ""
    yield "How far it was kept to", "you", ""
    charts = "Run chart, limits of single values and shares, running sums, before and after"
    yield "How it was analysed", "kit", charts
    known = "; ".join(f"{one.outcome.title} not known of {one.not_known}" for one in series)
    yield "How the series went", "kit, you confirm", f"{clients}; {known}"
    yield "Results with every single value", "kit", "The charts above"
    harm = f"{watched.harmed} of {counted(watched.asked, 'client')} of whom it is known"
    yield "Harm", "kit, you confirm", harm if watched.asked else ""
    yield "What it adds to what is known", "you", ""
    yield "Weak points", "kit, you confirm", _FOOLED
    yield "To whom it applies", "you", ""
    yield "Where the plan can be read", "you", ""
    yield "Money and interests", "you", ""


def _changes(watched: Watched) -> str:
    told = [f"client {one.client}: {one.words}" for one in watched.moments]
    return "; ".join(told) or "Nothing was written down"
