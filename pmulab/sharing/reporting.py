"""What a report of a comparison has to tell, and how much of it the kit can fill in.

References
----------
.. [1] N. Pandis et al. (2017), CONSORT 2010 statement: extension checklist for reporting within
   person randomised trials, BMJ 357:j2835. The items are said in our own words.
.. [2] S. Hopewell et al. (2025), CONSORT 2025 statement; the items numbered '2025'
   (citation from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from pmulab.findings import Effect, Findings
from pmulab.plan import Design
from pmulab.wording import difference_parts, judged_words, unit_of, when_words

SOURCES: dict[Design, str] = {
    "within-person": "After the CONSORT extension for within-person trials (Pandis et al., BMJ "
    "2017;357:j2835), in our own words.",
    "parallel": "After the CONSORT statement, in our own words.",
}

Who = Literal["kit", "you", "kit, you confirm"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that a reader needs to be told.

    Parameters
    ----------
    number : str
        As the checklist numbers it.
    words : str
        What to tell, in our own words.
    who : {'kit', 'you', 'kit, you confirm'}
        Who fills it in.
    text : str
        What the kit filled in; empty when it is left to the person.
    """

    number: str
    words: str
    who: Who
    text: str


def items(findings: Findings) -> tuple[Item, ...]:
    """List what a report has to tell, filled in as far as plan and data allow.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    tuple of Item
        Within one person: the items of the extension [1]_; between clients: those of the plain
        statement that apply. What the kit cannot fill is left to the person.
    """
    found = []
    for entry in _ENTRIES:
        if entry.only in (None, findings.plan.study.design):
            text = entry.fill(findings)
            found.append(Item(entry.number, entry.words, entry.who if text else "you", text))
    return tuple(found)


def _nothing(_: Findings) -> str:
    return ""


def _title(findings: Findings) -> str:
    within = findings.plan.within_person
    design = "left against right eyelid of one client" if within else "clients against clients"
    return f"{findings.plan.study.title}: {design}, drawn by lot"


def _changes(findings: Findings) -> str:
    provenance = findings.provenance
    if not provenance.locked:
        return "The plan was never locked."
    if provenance.changes:
        return "Edited after locking: " + ", ".join(one.entry for one in provenance.changes[:6])
    return f"None; plan locked on {provenance.locked}"


def _measure_changes(findings: Findings) -> str:
    entries = [
        change.entry
        for change in findings.provenance.changes
        if change.entry.startswith(("primary", "secondary"))
    ]
    if not findings.provenance.locked:
        return "Cannot be told: the plan was never locked."
    return ", ".join(entries[:4]) + "; the locked plan was analysed" if entries else "None"


def _who_could(findings: Findings) -> str:
    plan = findings.plan
    like = "two like" if plan.within_person else "suitable"
    refused = "; ".join(("the kit's general reasons", *plan.clients.exclude))
    return f"Willing clients with {like} {plan.study.lid} eyelids. Not: {refused}"


def _where(findings: Findings) -> str:
    study = findings.plan.study
    return "; ".join(part for part in (study.setting, study.operator) if part)


def _ways(findings: Findings) -> str:
    arms = findings.plan.arms
    if not (arms.A.steps.strip() and arms.B.steps.strip()):
        return ""
    order = "; one eyelid after the other" if findings.plan.within_person else ""
    return f"Under 'How it was done'{order}"


def _measures(findings: Findings) -> str:
    plan = findings.plan
    unit = "each eyelid" if plan.within_person else "each client"
    told = f"Main, for {unit}: {plan.primary.title}, {when_words(plan.primary, plan)}"
    side = "; ".join(outcome.title for outcome in plan.secondary)
    return told + (f". Side: {side}" if side else "")


def _how_many(findings: Findings) -> str:
    plan = findings.plan
    matters = f"{plan.primary.worthwhile:g} ({unit_of(plan.primary)})"
    return f"{plan.clients.planned} clients planned; said to matter: {matters}. Say how chosen"


def _looks(findings: Findings) -> str:
    looks = findings.plan.analysis.looks
    planned = f"One, at {looks[0]} clients" if looks else "None"
    return f"Planned looks: {planned}. Stopping for harm is always allowed"


def _lot(findings: Findings) -> str:
    seal = findings.provenance.allocation
    return f"By the kit from a random seed, list fingerprint {seal[:12]}" if seal else ""


def _blocks(findings: Findings) -> str:
    drawn = "side and order both drawn" if findings.plan.within_person else "one way a client"
    return f"Balanced blocks of hidden, mixed size; {drawn}" if _lot(findings) else ""


def _sealed(findings: Findings) -> str:
    if not _lot(findings):
        return ""
    return "Sealed cards, opened one at a time after eligibility and consent were recorded"


def _roles(findings: Findings) -> str:
    operator = findings.plan.study.operator or "the artist"
    return f"Drawn by the kit; enrolled and opened by {operator}" if _lot(findings) else ""


def _judges(findings: Findings) -> str:
    return "; ".join(f"{one.title}: {judged_words(one)}" for one in findings.plan.outcomes)


def _method(findings: Findings) -> str:
    estimate = findings.primary.difference
    if estimate.interval is None:
        return f"{estimate.method}; no interval"
    return f"{estimate.method}; interval: {estimate.interval.method}"


def _further_methods(findings: Findings) -> str:
    told = []
    if findings.primary.adjusted is not None:
        told.append("freed of working order and side")
    if any(effect.missing.low is not None for effect in findings.effects):
        told.append("worst and kindest case for missing results")
    return "; ".join(told) or "None"


def _numbers(findings: Findings) -> str:
    flow = findings.flow
    eyelids = f" ({flow.eyelids_analysed} eyelids)" if findings.plan.within_person else ""
    return f"{flow.allocated} drawn, {flow.treated} worked on, {flow.analysed} analysed{eyelids}"


def _losses(findings: Findings) -> str:
    flow = findings.flow
    told = list(flow.lost_reasons)
    if flow.withdrawn:
        told.append(f"took back consent: {flow.withdrawn}")
    return "; ".join(told) or "None"


def _dates(findings: Findings) -> str:
    provenance = findings.provenance
    return f"Plan locked {provenance.locked or 'never'}; analysed {provenance.analysed}"


def _ended(findings: Findings) -> str:
    if findings.provenance.stopped:
        return f"Stopped early: {findings.provenance.stopped}"
    return f"{findings.flow.allocated} of {findings.plan.clients.planned} planned clients drawn"


def _in_each(findings: Findings) -> str:
    counts = "; ".join(f"{one.outcome.title} {one.difference.n}" for one in findings.effects)
    return f"Clients, as drawn: {counts}"


def _result(findings: Findings) -> str:
    effect = findings.primary
    told = "; ".join(difference_parts(effect))
    if effect.a.mean is not None and effect.b.mean is not None:
        told = f"A {effect.a.mean:.4g}, B {effect.b.mean:.4g} ({effect.outcome.unit}); {told}"
    if effect.correlation is None:
        return told
    return f"{told}; correlation of the two eyelids {effect.correlation:.2f}"


def _shares(findings: Findings) -> str:
    told = [_share(effect) for effect in findings.effects if effect.outcome.yes_no]
    return "; ".join(told) or "No yes/no measure"


def _share(effect: Effect) -> str:
    means = [one.mean for one in (effect.a, effect.b)]
    shares = ["none" if mean is None else f"{mean:.0f} %" for mean in means]
    return f"{effect.outcome.title}: yes with A {shares[0]}, with B {shares[1]}"


def _others(findings: Findings) -> str:
    titles = "; ".join(effect.outcome.title for effect in findings.secondary)
    return f"Exploratory: {titles}" if titles else "None"


def _harm(findings: Findings) -> str:
    safety = findings.safety
    return f"{safety.with_event} of {safety.treated} clients; listed under 'Adverse events'"


def _harm_sought(findings: Findings) -> str:
    safety = findings.safety
    return f"Asked at each visit; {safety.visits_signed} of {safety.visits} visits signed"


def _plan_read(findings: Findings) -> str:
    seal = findings.provenance.plan
    return f"plan.toml in the study folder, fingerprint {seal[:12]}" if seal else ""


@dataclass(frozen=True, slots=True)
class _Entry:
    number: str
    words: str
    who: Who
    fill: Callable[[Findings], str]
    only: Design | None = None


_ENTRIES = (
    _Entry("1a", "The title names the design", "kit, you confirm", _title),
    _Entry("1b", "A summary: people, eyelids, result, harm", "kit", lambda _: "This page"),
    _Entry("2a", "Why the question is worth asking", "you", _nothing),
    _Entry("2b", "The exact question", "kit, you confirm", lambda f: f.plan.study.question),
    _Entry("3a", "Why left against right fits here", "you", _nothing, "within-person"),
    _Entry("3b", "Changes after the start, and why", "kit, you confirm", _changes),
    _Entry("4a", "Which people and eyelids could take part", "kit, you confirm", _who_could),
    _Entry("4b", "Where, and who worked", "kit, you confirm", _where),
    _Entry("5", "Both ways, so that a colleague can repeat them", "kit, you confirm", _ways),
    _Entry("6a", "What was measured, when and on what", "kit", _measures),
    _Entry("6b", "Measures changed on the way", "kit", _measure_changes),
    _Entry("7a", "How the number of clients was chosen", "kit, you confirm", _how_many),
    _Entry("7b", "Early looks; when to stop", "kit", _looks),
    _Entry("8a", "How the lot was drawn", "kit", _lot),
    _Entry("8b", "How it was kept in balance", "kit", _blocks),
    _Entry("9", "How the next card was hidden", "kit, you confirm", _sealed),
    _Entry("10", "Who drew, enrolled and opened cards", "kit, you confirm", _roles),
    _Entry("11a", "Who knew which way was which", "kit, you confirm", _judges),
    _Entry("11b", "How alike the two ways look", "you", _nothing, "within-person"),
    _Entry("12a", "Method of the main comparison", "kit", _method),
    _Entry("12b", "Methods of further analyses", "kit", _further_methods),
    _Entry("13a", "Numbers drawn, worked on, analysed", "kit", _numbers),
    _Entry("13b", "Losses and their reasons", "kit, you confirm", _losses),
    _Entry("14a", "When it ran", "kit", _dates),
    _Entry("14b", "Why it ended", "kit, you confirm", _ended),
    _Entry("15", "Clients and eyelids before the work", "you", _nothing),
    _Entry("16", "Numbers in each comparison", "kit", _in_each),
    _Entry("17a", "Result of each way, difference, interval", "kit", _result),
    _Entry("17b", "For yes/no measures: both shares", "kit", _shares),
    _Entry("18", "Other analyses, planned or not", "kit", _others),
    _Entry("19", "Harm, by client and by eyelid", "kit", _harm),
    _Entry(
        "20",
        "Weak points; one eyelid reaching the other",
        "kit, you confirm",
        lambda _: "Under 'What could fool us'",
        "within-person",
    ),
    _Entry(
        "20",
        "Weak points",
        "kit, you confirm",
        lambda _: "Under 'What could fool us'",
        "parallel",
    ),
    _Entry("21", "To whom it applies", "you", _nothing),
    _Entry("22", "A balanced reading", "kit, you confirm", lambda _: "Under 'Finding'"),
    _Entry("23", "Where it was registered beforehand", "you", _nothing),
    _Entry("24", "Where the plan can be read", "kit", _plan_read),
    _Entry("25", "Money and interests", "you", _nothing),
    _Entry("2025", "How harm was looked for", "kit, you confirm", _harm_sought),
    _Entry("2025", "What data are shared", "kit, you confirm", lambda f: f.plan.promises.sharing),
    _Entry("2025", "Clients' part in the planning", "you", _nothing),
)
