"""Findings as a deck of slides: what stands on each, and the words to say with it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from textwrap import wrap

from pmulab.figures import Picture, flow, pairs
from pmulab.figures.lettering import clean, shortened
from pmulab.figures.palette import ARM_SIGNS
from pmulab.findings import Findings
from pmulab.findings.held_back import shareable
from pmulab.plan import Key, Plan
from pmulab.sharing.fitting import SHORT, TIGHT, Room, fitted
from pmulab.sharing.parts import ARMS, alarms_and_rest, exploratory_readings, steps_of
from pmulab.sharing.slides.layout import fits, place
from pmulab.sharing.slides.slide import Kind, Part, Slide
from pmulab.wording import (
    CAUTIONS,
    CLOSING,
    HEADINGS,
    INVENTED,
    certainty,
    details,
    difference_short,
    difference_words,
    finding,
    finding_heading,
    flow_lines,
    fooled_lines,
    harm_lines,
    method_lines,
    next_lines,
    origin,
)
from pmulab.wording.comparisons import HARM_FIRST
from pmulab.wording.meaning import does_not_mean, means

_TITLE, _QUESTION, _MADE_BY = 100, 240, 80
_PIECE = 1200
"""Letters of one line beyond which it goes on in a further one; nothing of it is left out."""
_STEP_SIZE = 12
"""Points below which steps run on in one paragraph instead of a line each."""
_CAUTION_SIZE = 14
"""Points below which the cautions are not made smaller for the sake of fingerprints."""


@dataclass(frozen=True, slots=True)
class Deck:
    """Slides in their order, and what stands at the foot of each.

    Parameters
    ----------
    title : str
    slides : tuple of Slide
        Adverse events before effects.
    foot : str
    made_by : str
    analysed : str
        Date of the analysis, ISO 8601.
    """

    title: str
    slides: tuple[Slide, ...]
    foot: str
    made_by: str
    analysed: str


def deck(findings: Findings, made_by: str = "") -> Deck:
    """Lay the findings out on slides.

    Parameters
    ----------
    findings : Findings
    made_by : str, default=""
        Who shows them, as they wish to be named.

    Returns
    -------
    Deck
        Sentences and pictures of the handout; single values only of clients who agreed to share
        them. Long texts are shortened; the words to say with a slide are kept longer.
    """
    whole = shareable(findings)
    made = _deck(whole, SHORT, made_by)
    return made if all(map(fits, made.slides)) else _deck(whole, TIGHT, made_by)


def _way(whole: Plan, key: Key, room: Room, *, apart: bool) -> Part:
    """Give an arm's steps, one line each where they are to stand apart."""
    steps = steps_of(whole, key, room.steps)
    label = shortened(whole.arms.label(key), room.label)
    return _part(steps if apart else [" ".join(steps)], f"{ARM_SIGNS[key]} {key}: {label}")


def _deck(whole: Findings, room: Room, made_by: str) -> Deck:
    short = fitted(whole, room)
    study = whole.plan.study
    title, by = shortened(study.title, _TITLE), shortened(made_by, _MADE_BY)
    slides = [
        *_question(short, title, by),
        _method(whole, short, room),
        _clients(whole, room),
        *_safety(whole, short),
        _seen(short),
        _finding(whole, short),
        _fooled_and_next(whole, short),
        _cautions(short),
    ]
    foot = f"{INVENTED} {CLOSING}" if study.invented else CLOSING
    return Deck(title, tuple(slides), foot, by, whole.provenance.analysed)


def _part(lines: Iterable[str], heading: str = "", kind: Kind = "list") -> Part:
    kept = tuple(filter(None, map(clean, lines)))
    return Part(kept, clean(heading), kind)


def _slide(
    title: str,
    rows: Iterable[tuple[Part, ...]],
    notes: Iterable[str],
    picture: Picture | None = None,
) -> Slide:
    filled = (tuple(part for part in row if part.lines or part.heading) for row in rows)
    described = [f"{picture.title}: {picture.alt}"] if picture else []
    told = tuple(filter(None, map(clean, [*notes, *described])))
    return Slide(clean(title), tuple(row for row in filled if row), told, picture)


def _spread(lines: Iterable[str], slide_of: Callable[[list[str]], Slide]) -> list[Slide]:
    """Put lines that are never shortened on as many slides as they need."""
    pieces = [piece for line in lines for piece in wrap(clean(line), _PIECE)]
    shown: list[list[str]] = [[]]
    for piece in pieces:
        if shown[-1] and not fits(slide_of([*shown[-1], piece])):
            shown.append([])
        shown[-1].append(piece)
    return [slide_of(own) for own in shown]


def _question(findings: Findings, title: str, made_by: str) -> list[Slide]:
    """Show the question, with what is read first beside it or on slides of its own."""
    alarms, _ = alarms_and_rest(findings)
    by = f"{HEADINGS['handed_on']} {made_by}" if made_by else ""
    asked = shortened(findings.plan.study.question, _QUESTION)
    marks = [INVENTED] if findings.plan.study.invented else []
    rows = [
        (_part([asked], kind="said"),),
        (_part(marks, kind="alarm"), _part([by])),
    ]
    notes = [*marks, findings.plan.study.question]

    def warned(lines: list[str]) -> Slide:
        return _slide(HEADINGS["read_first"], [(_part(lines, kind="alarm"),)], lines)

    beside = [(_part(alarms, HEADINGS["read_first"], "alarm"),)] if alarms else []
    together = _slide(title, [*rows, *beside], [*notes, *alarms])
    if fits(together):
        return [together]
    return [_slide(title, rows, notes), *_spread(alarms, warned)]


def _method(whole: Findings, short: Findings, room: Room) -> Slide:
    """Show the steps of both ways, one line each where that fits in letters of a good size."""
    plan = whole.plan
    notes = [
        *method_lines(whole),
        f"A: {plan.arms.A.label}. {plan.arms.A.steps}",
        f"B: {plan.arms.B.label}. {plan.arms.B.steps}",
    ]
    apart, together = (
        _slide(
            HEADINGS["method"],
            [
                tuple(_way(plan, key, room, apart=one) for key in ARMS),
                (_part(method_lines(short)),),
            ],
            notes,
        )
        for one in (True, False)
    )
    return apart if fits(apart) and place(apart).size >= _STEP_SIZE else together


def _clients(whole: Findings, room: Room) -> Slide:
    return _slide(HEADINGS["flow"], [], flow_lines(whole.flow), flow(whole, room.reasons))


def _safety(whole: Findings, short: Findings) -> list[Slide]:
    kind: Kind = "alarm" if short.safety.harm_first else "list"
    notes = tuple(harm_lines(whole))

    def told(lines: list[str]) -> Slide:
        rows = [(_part(lines, kind=kind),), (_part(CAUTIONS[1:2]),)]
        return _slide(HEADINGS["safety"], rows, notes)

    return _spread(harm_lines(short), told)


def _seen(short: Findings) -> Slide:
    plan, primary = short.plan, short.primary
    first = [HARM_FIRST] if primary.verdict.harm_first else []
    rows = [(_part(first, kind="alarm"),), (_part([difference_words(primary, plan)]),)]
    return _slide(HEADINGS["seen"], rows, [], pairs(primary, plan))


def _finding(whole: Findings, short: Findings) -> Slide:
    plan, primary = short.plan, short.primary
    others = [difference_short(effect) for effect in short.secondary]
    rows = [
        (_part([finding(primary, plan)], kind="said"),),
        (_part([certainty(primary), means(primary, plan), does_not_mean(primary, plan)]),),
        (_part(others, HEADINGS["exploratory"] if others else ""),),
    ]
    notes = [
        finding(whole.primary, whole.plan),
        *details(whole.primary, whole.plan),
        *_readings(short),
    ]
    return _slide(finding_heading(bool(short.provenance.locked)), rows, notes)


def _readings(short: Findings) -> Iterator[str]:
    """Say how each of the other outcomes reads, named as exploratory first."""
    if short.secondary:
        yield f"{HEADINGS['exploratory']}."
    for title, reading in exploratory_readings(short):
        yield f"{title}: {reading}"


def _fooled_and_next(whole: Findings, short: Findings) -> Slide:
    _, rest = alarms_and_rest(short)
    row = (
        _part(rest, HEADINGS["fooled"]),
        _part(next_lines(short), HEADINGS["next"]),
    )
    title = f"{HEADINGS['fooled']}; {HEADINGS['next'].lower()}"
    return _slide(title, [row], [*fooled_lines(whole), *next_lines(whole)])


def _cautions(short: Findings) -> Slide:
    """Show the cautions, and where there is room what the numbers were made from."""
    own = _part(short.plan.promises.cautions)
    rows = [(own,), (_part(CAUTIONS),), (_part([CLOSING], kind="said"),)]
    made_from = origin(short.provenance)
    notes = [CLOSING, made_from]
    plain = _slide(HEADINGS["cautions"], rows, notes)
    roomy = _slide(HEADINGS["cautions"], [*rows, (_part([made_from]),)], notes)
    return roomy if place(roomy).size >= _CAUTION_SIZE else plain
