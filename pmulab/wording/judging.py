"""Who judged an outcome: what was planned, and what was done."""

from collections.abc import Iterator

from pmulab.counting import counted, were
from pmulab.findings import Effect, Judging

_PLANNED = {
    "measured": "by clock, ruler or count",
    "blind": "by someone who does not know which way is which",
    "open": "by someone who knows which way is which",
}
_DONE = {
    "measured": "by clock, ruler or count",
    "blind": "by someone who did not know which way was which",
    "open": "by someone who knew which way was which",
}


def judged_words(effect: Effect) -> str:
    """Say who was to judge an outcome and who did, or what measured it.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    str
        Short where all was done as planned; only the plan where nothing is judged yet, or where
        it was not counted who knew.
    """
    outcome, done = effect.outcome, effect.judging
    if done is None or not done.eyelids:
        return f"planned to be judged {_PLANNED[outcome.judged]}"
    if outcome.judged == "blind" and done.knew:
        return (
            f"planned to be judged {_PLANNED['blind']}; done: {_of_eyelids(done)} by someone who "
            "knew"
        )
    return f"judged {_DONE[outcome.judged]}"


def _of_eyelids(done: Judging) -> str:
    return f"{done.knew} of {counted(done.eyelids, 'eyelid')}"


def judged_knowing(effect: Effect) -> bool:
    """Tell whether an outcome is judged, at least in part, by someone who knows the way.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    bool
        True for what is planned so, and for all that whoever works records on the day.
    """
    outcome, done = effect.outcome, effect.judging
    knew = done is not None and done.knew > 0
    return knew or outcome.judged == "open" or outcome.table == "sessions"


def who_knew(primary: Effect) -> Iterator[str]:
    """Say of how much of the main measure somebody judged who knew.

    Parameters
    ----------
    primary : Effect

    Yields
    ------
    str
    """
    outcome, done = primary.outcome, primary.judging
    if outcome.judged == "open":
        yield "The main outcome was judged by someone who knew which way was which."
    elif outcome.judged == "blind" and done is not None and done.knew:
        yield (
            f"In the main measure {_of_eyelids(done)} {were(done.knew)} judged by someone who "
            "knew which way was which, against the plan."
        )
    elif outcome.table == "healed" and done is not None and done.knew:
        yield (
            f"In the main measure {_of_eyelids(done)} {were(done.knew)} measured by someone who "
            "knew which way was which."
        )
