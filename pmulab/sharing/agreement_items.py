"""What a report of blind scores has to tell about agreement, filled in from the rounds.

References
----------
.. [1] J. Kottner et al. (2011), Guidelines for Reporting Reliability and Agreement Studies (GRRAS),
   J Clin Epidemiol 64:96-106. Said in our own words, numbered from memory.
"""

from collections.abc import Callable, Iterable

from pmulab.counting import counted
from pmulab.findings import Agreement, Findings, Scoring
from pmulab.plan import Plan
from pmulab.sharing.item import Item, Who
from pmulab.wording import agreement_line

SOURCE = "After GRRAS (Kottner et al., J Clin Epidemiol 2011;64:96), in our own words."
_Fill = Callable[[Scoring, Plan], str]


def agreement_items(findings: Findings) -> tuple[Item, ...]:
    """List what a report on the agreement of assessors has to tell.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    tuple of Item
        The fifteen items of GRRAS [1]_; empty when nothing was scored in a round.
    """
    scoring = findings.scoring
    if scoring is None:
        return ()
    texts = [fill(scoring, findings.plan) for _, _, _, fill in _ENTRIES]
    return tuple(
        Item(f"GRRAS {number}", words, who if text else "you", text)
        for (number, words, who, _), text in zip(_ENTRIES, texts, strict=True)
    )


def agreement_in_short(findings: Findings) -> str:
    """Say in one phrase how often looks and assessors gave the same answer; '' without a round."""
    if findings.scoring is None:
        return ""
    shares: dict[str, list[str]] = {}
    for one in _planned(findings.scoring, findings.plan):
        if one.exact.value is not None:
            who = "one assessor" if one.kind == "within" else "several"
            told = f"{who} {100 * one.exact.value:.0f} % of {one.exact.n}"
            shares.setdefault(one.title, []).append(told)
    return "; ".join(f"Same answer, {name}: {', '.join(told)}" for name, told in shares.items())


def _nothing(_: Scoring, __: Plan) -> str:
    return ""


def _title(scoring: Scoring, _: Plan) -> str:
    kinds = {one.kind for one in scoring.agreements}
    within = "of one assessor with herself" if "within" in kinds else ""
    between = "between assessors" if "between" in kinds else ""
    told = " and ".join(part for part in (within, between) if part)
    return f"Agreement {told} on photos of healed eyeliner" if told else ""


def _device(scoring: Scoring, _: Plan) -> str:
    titles = dict.fromkeys(one.title.lower() for one in scoring.agreements)
    return f"One photo at a time by eye, with anchors in view: {'; '.join(titles)}"


def _subjects(_: Scoring, plan: Plan) -> str:
    return f"Clients with {plan.study.lid} eyelids who agreed to show photos to the group"


def _raters(scoring: Scoring, _: Plan) -> str:
    own = ", ".join(scoring.operators)
    did = f"; {own} did the work too" if own else "; none did the work"
    return f"{counted(len(scoring.assessors), 'assessor')}{did}. Say which training they had"


def _sampling(_: Scoring, __: Plan) -> str:
    return "Every healed photo that consent and visit window allow; repeats drawn by lot"


def _process(_: Scoring, __: Plan) -> str:
    return (
        "Photos coded, mixed and without side or day; the repeats stand apart in the same round; "
        "arms sealed until all answers were in"
    )


def _independent(_: Scoring, __: Plan) -> str:
    return "Each alone, none saw another's answers, as far as the kit can tell"


def _analysis(scoring: Scoring, _: Plan) -> str:
    methods = dict.fromkeys(
        estimate.method
        for one in scoring.agreements
        for estimate in (one.exact, one.kappa, one.icc, one.change)
        if estimate is not None
    )
    return "; ".join(methods)


def _counts(scoring: Scoring, _: Plan) -> str:
    return (
        f"{counted(len(scoring.assessors), 'assessor')}, {counted(scoring.photos, 'photo')} of "
        f"{counted(scoring.clients, 'client')}, {scoring.repeats} of them shown twice; "
        f"rounds: {scoring.rounds}"
    )


def _estimates(scoring: Scoring, _: Plan) -> str:
    return " ".join(agreement_line(one) for one in scoring.agreements)


def _relevance(scoring: Scoring, plan: Plan) -> str:
    poor = dict.fromkeys(one.title.lower() for one in scoring.poor())
    told = f"Poor on {', '.join(poor)}: not to be read" if poor else "Poor on none"
    changes = [
        f"{one.title.lower()}: {one.change.value:.1f} against {swd[one.name]:g} said to matter"
        for swd in [{outcome.name: outcome.worthwhile for outcome in plan.outcomes}]
        for one in _planned(scoring, plan)
        if one.change is not None and one.change.value is not None
    ]
    return "; ".join([told, *(f"smallest change seen in one eyelid, {one}" for one in changes)])


def _planned(scoring: Scoring, plan: Plan) -> Iterable[Agreement]:
    names = {outcome.name for outcome in plan.outcomes}
    return (one for one in scoring.agreements if one.name in names)


_ENTRIES: tuple[tuple[str, str, Who, _Fill], ...] = (
    ("1", "The title or summary says that agreement was studied", "kit, you confirm", _title),
    ("2", "What was judged, and how", "kit", _device),
    ("3", "On whom", "kit, you confirm", _subjects),
    ("4", "By whom", "kit, you confirm", _raters),
    ("5", "What is known of agreement, and why look again", "you", _nothing),
    ("6", "How the numbers of photos and assessors were chosen", "you", _nothing),
    ("7", "How photos were picked", "kit", _sampling),
    ("8", "How judging went: order, interval, what was hidden", "kit", _process),
    ("9", "Whether assessors judged independently", "kit, you confirm", _independent),
    ("10", "Method of the analysis", "kit", _analysis),
    ("11", "How many assessors, photos and repeats", "kit", _counts),
    ("12", "What assessors and clients were like", "you", _nothing),
    ("13", "Agreement with its uncertainty", "kit", _estimates),
    ("14", "What that means in practice", "kit, you confirm", _relevance),
    ("15", "Where the single answers can be seen", "kit",
     lambda _, __: "In the study folder under scoring; they stay in the studio"),
)  # fmt: skip
