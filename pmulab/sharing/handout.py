"""The handout: two pages, seldom three, that a studio can print, pin up and hand on."""

import re
from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from pmulab.figures import all_outcomes, flow, pairs
from pmulab.figures.lettering import clean, shortened
from pmulab.figures.palette import ARM_SIGNS
from pmulab.findings import Findings
from pmulab.findings.held_back import shareable
from pmulab.sharing.fitting import ROOMY, SNUG, SPREAD, Room, fitted
from pmulab.sharing.item import Item
from pmulab.sharing.parts import ARMS, alarms_and_rest, exploratory_readings, numbered, steps_of
from pmulab.sharing.rendering import rendered
from pmulab.sharing.reporting import SOURCES, items
from pmulab.wording import (
    CAUTIONS,
    CLOSING,
    HEADINGS,
    INVENTED,
    capital,
    certainty,
    details,
    finding,
    finding_heading,
    method_lines,
    next_lines,
    origin,
    rated,
    safety_heads,
)
from pmulab.wording.meaning import does_not_mean, means

_SURE = ("very unsure", "not sure", "somewhat sure", "fairly sure")
_FULL = ((ROOMY, 7100), (SNUG, 9000))
"""How many letters two pages hold in each print size; beyond the last, a further page is used."""


def handout_html(findings: Findings, made_by: str = "") -> str:
    """Write the handout as one HTML file that needs nothing from outside.

    Parameters
    ----------
    findings : Findings
    made_by : str, default=""
        Who hands it on, as they wish to be named.

    Returns
    -------
    str
        A page without script or outside address; prints on two pages (A4 or Letter), or on a third
        where it takes one: no letter is ever smaller than seven points.
        Adverse events stand before effects, and anything but the main measure of a locked plan
        is marked exploratory. Long texts are shortened; the findings file keeps them whole.
    """
    findings = shareable(findings)
    for room, most in _FULL:
        words = _page(findings, made_by, room, drawn=False)
        if _letters(words) + _rows(findings) <= most:
            return _page(findings, made_by, room)
    return _page(findings, made_by, SPREAD)


def _page(findings: Findings, made_by: str, room: Room, *, drawn: bool = True) -> str:
    """Write the page in a print size; without its pictures where only words are counted."""
    page = fitted(findings, room)
    return rendered(
        "handout.html.jinja",
        size=room.name,
        heads=HEADINGS,
        title=clean(findings.plan.study.title),
        question=clean(findings.plan.study.question),
        labels={key: clean(findings.plan.arms.label(key)) for key in ARMS},
        signs=ARM_SIGNS,
        made_by=shortened(made_by, 80),
        flow=Markup(flow(findings, room.reasons).svg) if drawn else "",
        picture=Markup(pairs(findings.primary, findings.plan).svg) if drawn else "",
        outcomes=Markup(all_outcomes(findings).svg) if drawn and findings.secondary else "",
        item_halves=_halves(page, room),
        **_study_words(findings, page, room),
        **_finding_words(page),
    )


def _rows(findings: Findings) -> int:
    """Give what rows of pictures and tables take up, as a number of letters."""
    return 130 * (len(findings.effects) - 4) + 40 * len(findings.safety.events)


def _letters(page: str) -> int:
    """Count the letters that a reader sees, pictures left out."""
    shown = re.sub(r"<(style|svg)\b.*?</\1>|<[^>]*>", "", page, flags=re.DOTALL)
    return len(" ".join(shown.split()))


def _study_words(whole: Findings, findings: Findings, room: Room) -> dict[str, Any]:
    """Give what was done, what went wrong, and what to beware of."""
    plan = findings.plan
    alarms, fooled = alarms_and_rest(findings)
    return {
        "invented": INVENTED if plan.study.invented else "",
        "alarms": alarms,
        "steps": {key: numbered(steps_of(whole.plan, key, room.steps)) for key in ARMS},
        "method": list(method_lines(findings)),
        "safety": list(safety_heads(findings.safety, stopped=bool(findings.provenance.stopped))),
        "paused": findings.safety.harm_first,
        "events": list(_event_rows(findings)),
        "fooled": fooled,
        "next": list(next_lines(findings)),
        "cautions": [*plan.promises.cautions, *CAUTIONS],
        "items_source": SOURCES[plan.study.design],
        "origin": origin(findings.provenance),
        "closing": CLOSING,
    }


def _finding_words(findings: Findings) -> dict[str, Any]:
    """Give what was found, how sure, and how the other outcomes read."""
    primary, plan = findings.primary, findings.plan
    return {
        "finding_heading": finding_heading(bool(findings.provenance.locked)),
        "finding": finding(primary, plan),
        "certainty": certainty(primary),
        "scale": [(words, words == primary.verdict.certainty) for words in _SURE]
        if rated(primary)
        else [],
        "meaning": (means(primary, plan), does_not_mean(primary, plan)),
        "details": list(details(primary, plan)),
        "exploratory": exploratory_readings(findings),
    }


def _halves(
    findings: Findings, room: Room
) -> tuple[list[tuple[Item, str]], list[tuple[Item, str]]]:
    """Part the reporting items into two columns of about equal length."""
    rows = [(item, shortened(item.text, room.line)) for item in items(findings)]
    lines = [1 + (len(item.words) + len(text)) // 62 for item, text in rows]
    split = next(row for row in range(len(rows)) if 2 * sum(lines[: row + 1]) >= sum(lines))
    return rows[: split + 1], rows[split + 1 :]


def _event_rows(findings: Findings) -> Iterator[tuple[str, str, str, int]]:
    places = {"A": "A", "B": "B", "both": "both", "general": "person"}
    for event in findings.safety.events:
        severity = f"{event.severity}, serious" if event.serious else event.severity
        name = capital(event.event.replace("_", " "))
        yield name, severity, places[event.arm], event.clients
