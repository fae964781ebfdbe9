"""What a report of a comparison has to tell, and how much of it the kit can fill in.

References
----------
.. [1] N. Pandis et al. (2017), CONSORT 2010 statement: extension checklist for reporting within
   person randomised trials, BMJ 357:j2835. The items are said in our own words.
.. [2] S. Hopewell et al. (2025), CONSORT 2025 statement, PLoS Med 22(4):e1004587, Table 1: data
   sharing (4), part of those concerned (8), how harm was assessed (15); numbered '2025-' here.
"""

from collections.abc import Callable
from dataclasses import dataclass

from pmulab.findings import Findings
from pmulab.plan import Design
from pmulab.sharing import filling
from pmulab.sharing.agreement_items import agreement_in_short
from pmulab.sharing.item import Item, Who

SOURCES: dict[Design, str] = {
    "within-person": "After the CONSORT extension for within-person trials (Pandis et al., BMJ "
    "2017;357:j2835), in our own words.",
    "parallel": "After the CONSORT statement, in our own words.",
}


def items(findings: Findings) -> tuple[Item, ...]:
    """List what a report has to tell, filled in as far as plan and data allow.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    tuple of Item
        Within one person: the items of the extension [1]_; between clients: those of the plain
        statement that apply. What the kit cannot fill is left to the person. Of the agreement of
        blind scores one item stands here; all of them are in `agreement_items`.
    """
    found = []
    for entry in _ENTRIES:
        if entry.only in (None, findings.plan.study.design):
            text = entry.fill(findings)
            found.append(Item(entry.number, entry.words, entry.who if text else "you", text))
    if findings.scoring is not None and (agreed := agreement_in_short(findings)):
        found.append(Item("GRRAS", "Whether assessors agree", "kit", agreed))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Entry:
    number: str
    words: str
    who: Who
    fill: Callable[[Findings], str]
    only: Design | None = None


_ENTRIES = (
    _Entry("1a", "The title names the design", "kit, you confirm", filling.title),
    _Entry("1b", "A summary: who, result, harm", "kit", lambda _: "This page"),
    _Entry("2a", "Why the question is worth asking", "you", filling.nothing),
    _Entry("2b", "The exact question", "kit, you confirm", filling.question),
    _Entry("3a", "Why left against right fits here", "you", filling.nothing, "within-person"),
    _Entry("3b", "Changes after the start, and why", "kit, you confirm", filling.changes),
    _Entry("4a", "Who could take part, with which eyelids", "kit, you confirm", filling.who_could),
    _Entry("4b", "Where, and who worked", "kit, you confirm", filling.where),
    _Entry("5", "Both ways, so that a colleague can repeat them", "kit, you confirm", filling.ways),
    _Entry("6a", "What was measured, when and on what", "kit", filling.measures),
    _Entry("6b", "Measures changed on the way", "kit", filling.measure_changes),
    _Entry("7a", "How the number of clients was chosen", "kit, you confirm", filling.how_many),
    _Entry("7b", "Early looks; when to stop", "kit", filling.looks),
    _Entry("8a", "How the lot was drawn", "kit", filling.lot),
    _Entry("8b", "How it was kept in balance", "kit", filling.blocks),
    _Entry("9", "How the next card was hidden", "kit, you confirm", filling.sealed),
    _Entry("10", "Who drew, enrolled and opened cards", "kit, you confirm", filling.roles),
    _Entry("11a", "Who knew which way was which", "kit, you confirm", filling.judges),
    _Entry("11b", "How alike the two ways look", "you", filling.nothing, "within-person"),
    _Entry("12a", "Method of the main comparison", "kit", filling.method),
    _Entry("12b", "Methods of further analyses", "kit", filling.further_methods),
    _Entry("13a", "Numbers drawn, worked on, analysed", "kit", filling.numbers),
    _Entry("13b", "Losses and their reasons", "kit, you confirm", filling.losses),
    _Entry("14a", "When it ran", "kit", filling.dates),
    _Entry("14b", "Why it ended", "kit, you confirm", filling.ended),
    _Entry("15", "Clients and eyelids before the work", "you", filling.nothing),
    _Entry("16", "Numbers in each comparison", "kit", filling.in_each),
    _Entry("17a", "Result of each way, difference, interval", "kit", filling.result),
    _Entry("17b", "For yes/no measures: both shares", "kit", filling.shares),
    _Entry("18", "Other analyses, planned or not", "kit", filling.others),
    _Entry("19", "Harm, by client and by eyelid", "kit", filling.harm, "within-person"),
    _Entry("19", "Harm, by client", "kit", filling.harm, "parallel"),
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
    _Entry("21", "To whom it applies", "you", filling.nothing),
    _Entry("22", "A balanced reading", "kit, you confirm", lambda _: "Under 'Finding'"),
    _Entry("23", "Where it was registered beforehand", "you", filling.nothing),
    _Entry("24", "Where the plan can be read", "kit", filling.plan_read),
    _Entry("25", "Money and interests", "you", filling.nothing),
    _Entry("2025-4", "What data are shared", "kit, you confirm", lambda f: f.plan.promises.sharing),
    _Entry("2025-8", "Clients' part in the planning", "you", filling.nothing),
    _Entry("2025-15", "How harm was looked for", "kit, you confirm", filling.harm_sought),
)
