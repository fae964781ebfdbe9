"""The pooled report: what several studies say together, harm first, silent studies in sight."""

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from pmulab.counting import counted
from pmulab.figures import forest
from pmulab.figures.lettering import clean, shortened
from pmulab.findings.pooled import PooledFindings, Registered, SetAside
from pmulab.sharing.rendering import rendered
from pmulab.wording import (
    CAUTIONS,
    CLOSING,
    INVENTED,
    capital,
    check_lines,
    elsewhere_lines,
    footnote_lines,
    pooled_certainty,
    pooled_finding,
    registered_words,
    safety_heads,
    spread_lines,
    unit_of,
    with_unit,
)

MARK = "<!DOCTYPE html>\n<!-- pmulab pooled report -->"
"""How the page begins, so that it is never written over anything else."""
MOST_ROWS = 60
_STATES = {
    "registered": "announced",
    "running": "running",
    "analysed": "analysed, its pack is not in",
    "finished": "in",
    "stopped": "stopped",
    "never reported": "never reported",
}


def pooled_html(found: PooledFindings) -> str:
    """Write the pooled report as one HTML file that needs nothing from outside.

    Parameters
    ----------
    found : PooledFindings

    Returns
    -------
    str
        A page without script or outside address. Adverse events stand before effects; long
        lists are shortened, the file of the findings keeps them whole.
    """
    question = found.question
    return rendered(
        "pooled.html.jinja",
        mark=Markup(MARK),
        title=clean(f"{question.outcome.title}: studies together"),
        question=clean(question.text),
        invented=INVENTED if question.invented else "",
        labels={"A": clean(question.labels[0]), "B": clean(question.labels[1])},
        methods=list(_method_lines(found)),
        safety=list(safety_heads(found.safety)),
        paused=bool(found.safety.stop or any(one.safety.stop for one in found.other_harm)),
        events=_events(found),
        elsewhere=[clean(line) for line in elsewhere_lines(found)],
        registered=registered_words(found),
        register=[_register_row(entry) for entry in found.register[:MOST_ROWS]],
        register_more=max(0, len(found.register) - MOST_ROWS),
        picture=Markup(forest(found).svg),
        finding=pooled_finding(found),
        certainty=pooled_certainty(found),
        scale=_scale(found),
        spread=list(spread_lines(found)),
        checks=list(check_lines(found)),
        notes=list(_notes(found)),
        flags=[shortened(flag, 240) for flag in found.flags[:MOST_ROWS]],
        aside=[_aside_row(one) for one in found.set_aside[:MOST_ROWS]],
        aside_more=max(0, len(found.set_aside) - MOST_ROWS),
        footnotes=list(footnote_lines(found)),
        cautions=CAUTIONS,
        software=clean(found.software),
        made=found.made,
        closing=CLOSING,
    )


def _method_lines(found: PooledFindings) -> Iterator[str]:
    question = found.question
    within = question.design == "within-person"
    yield (
        f"Each client had both ways, one on each {question.lid} eyelid, drawn by lot."
        if within
        else f"Each client had one way on both {question.lid} eyelids, drawn by lot."
    )
    outcome = question.outcome
    matters = with_unit(outcome.worthwhile, outcome)
    yield (
        f"Main measure: {outcome.title} ({unit_of(outcome)}); {outcome.better} is better. Said "
        f"beforehand to matter: more than {matters}."
    )
    yield "Every study planned and locked this main measure itself; only it is pooled."


def _events(found: PooledFindings) -> list[tuple[str, str, str, int]]:
    places = {"A": "A", "B": "B", "both": "both", "general": "person", "hidden": "not said"}
    return [
        (
            capital(event.event.replace("_", " ")),
            f"{event.severity}, serious" if event.serious else event.severity,
            places[event.arm],
            event.clients,
        )
        for event in found.safety.events
    ]


def _register_row(entry: Registered) -> tuple[str, str, str, str, str]:
    state = _STATES[entry.state]
    if entry.days_overdue:
        state = f"{state}, {counted(entry.days_overdue, 'day')} overdue"
    if entry.other_question:
        state = f"{state}; another question"
    return entry.code, entry.registered, str(entry.planned), entry.due, state


def _scale(found: PooledFindings) -> Sequence[tuple[str, bool]]:
    words = ("very unsure", "not sure", "somewhat sure", "fairly sure")
    return [(word, word == found.certainty) for word in words]


def _notes(found: PooledFindings) -> Iterator[tuple[str, str]]:
    for study in found.studies[:MOST_ROWS]:
        if study.notes:
            yield shortened(study.label, 80), "; ".join(study.notes)


def _aside_row(one: SetAside) -> tuple[str, str]:
    return shortened(one.label, 80), shortened(one.why, 240)
