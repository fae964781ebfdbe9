"""How sure a finding is in words, and which way it speaks for, never surer than that."""

from collections.abc import Iterable

from pmulab.findings import Certainty, Effect
from pmulab.wording.amounts import capital

UNSURE: tuple[Certainty, ...] = ("not sure", "very unsure")
"""Certainties beside which nothing is called probable."""
NEITHER = "This is a mere measurement and speaks for neither way"
"""Stands where harm decides, whatever the numbers say."""


def certainty(effect: Effect) -> str:
    """Say how sure, and why no surer.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    str
    """
    verdict = effect.verdict
    if rated(effect):
        return how_sure(verdict.certainty, verdict.reasons)
    return how_sure("there is no answer yet to be sure of", verdict.reasons)


def rated(effect: Effect) -> bool:
    """Tell whether a finding says anything that one could be sure of.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    bool
        False where it cannot tell, has too few clients, was stopped, or depends on the view.
    """
    return effect.verdict.case in ("G1", "G2", "G3", "G5")


def how_sure(word: str, reasons: Iterable[str]) -> str:
    """Say a certainty with what lowers it."""
    because = "; ".join(reasons)
    return f"How sure: {word}" + (f" ({because})." if because else ".")


def did_better(favoured: str, sure: Certainty | None) -> str:
    """Say which way came out ahead, no surer than one may be.

    Parameters
    ----------
    favoured : str
        Name of the way.
    sure : str or None
        The certainty that stands beside it; None after harm.

    Returns
    -------
    str
    """
    if sure is None:
        return NEITHER
    if sure in UNSURE:
        return f"{capital(favoured)} came out ahead here, which is far from sure to hold"
    return f"{capital(favoured)} probably did better"


def favours(favoured: str, sure: Certainty | None) -> str:
    """Say which way a clear difference speaks for, no surer than one may be.

    Parameters
    ----------
    favoured : str
    sure : str or None
        The certainty that stands beside it; None after harm.

    Returns
    -------
    str
    """
    if sure is None:
        return f"{NEITHER}."
    if sure in UNSURE:
        return f"The numbers favour {favoured}, but they are far from sure to hold."
    return f"This favours {favoured}."
