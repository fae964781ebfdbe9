"""Plans in words: ready questions to choose from, and entries that tell of people."""

from collections.abc import Iterator, Sequence
from textwrap import shorten

from pmulab.plan import Plan
from pmulab.plan.labels import entry_label
from pmulab.plan.recorded import column_words
from pmulab.plan.stated import unlike_steps
from pmulab.plan.telling import announced, printed, telling
from pmulab.questions import Question
from pmulab.tables.expectations import shown_words
from pmulab.tables.identifiers import Kind, with_article
from pmulab.wording.amounts import capital

_DESIGNS = {
    "within-person": "left against right eyelid of one client",
    "parallel": "clients against clients",
}


def question_lines(ready: Question) -> Iterator[str]:
    """Say what a ready question compares, how, and by which main measure.

    Parameters
    ----------
    ready : Question

    Yields
    ------
    str
    """
    main = ready.data["primary"]
    yield f"{ready.name}"
    yield f"    {ready.summary}"
    design = capital(_DESIGNS[ready.data["study"]["design"]])
    yield f"    {design}. Main measure: {main['title']} ({main['unit']})."


def unlike_lines(plan: Plan) -> tuple[list[str], list[str]]:
    """Say which ways state other numbers than their records have to show, and what to do.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of (list of str, list of str)
        What is wrong, and how it is put right; both empty where nothing is.
    """
    found = list(unlike_steps(plan))
    wrong = [
        f"Way {one.key} ({plan.arms.label(one.key)}) says {', '.join(one.stated)} in its "
        f"{one.where}, but its records have to show {shown_words((one.low, one.high))} in "
        f"'{column_words(one.column)}': honest rows would be pointed out as wrong."
        for one in found
    ]
    right = [
        "In form 2 of notebook 01 change whichever is wrong: name, steps, or what the records of "
        f"way {key} have to show in '{column_words(column)}' (plan.toml: [arms.{key}.recorded] "
        f"{column}). If name or steps speak of something else, such as a wait, write into them "
        "also the number that is meant. Or leave what the records have to show empty: it is not "
        "checked then."
        for key, column in sorted({(one.key, one.column) for one in found})
    ]
    return wrong, right


def telling_lines(plan: Plan) -> Iterator[str]:
    """Say which words of a plan look as if they told who a person is, and who would read them.

    Parameters
    ----------
    plan : Plan

    Yields
    ------
    str
        Nothing where no entry does.
    """
    found = telling(plan)
    for entry, words in found.items():
        told = "; ".join(_taken_for(kind, ones) for kind, ones in words.items())
        yield f"Mind: '{entry_label(entry)}' in the plan: {told}. {_goes(entry)}"
    if found:
        yield (
            "No client's name, number or address may stand in a plan, and once locked it stays. A "
            "word that tells of nobody may stay. In a pack these entries are left out."
        )


def _taken_for(kind: Kind, words: Sequence[str]) -> str:
    named = ", ".join(f"'{shorten(word, 60)}'" for word in words)
    return f"{named} {'looks' if len(words) == 1 else 'look'} like {with_article(kind)}"


def _goes(entry: str) -> str:
    """Say who reads an entry."""
    group = "the group reads it once the plan is announced"
    if printed(entry):
        return f"Handout or slides print it{f', and {group}' if announced(entry) else ''}."
    return f"Neither handout nor slides print it{f', but {group}' if announced(entry) else ''}."
