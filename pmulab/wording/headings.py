"""Headings that handout and slides share."""

HANDED_ON = "Handed on by"
READ_FIRST = "Read this first"
METHOD = "How it was done"
SAFETY = "Adverse events"
FLOW = "From asking to analysing"
SEEN = "What was seen"
DETAILS = "Details"
EXPLORATORY = "Exploratory: other outcomes, no basis for a change"
FOOLED = "What could fool us"
NEXT = "What next"
CAUTIONS_HEAD = "Cautions"

HEADINGS = {
    "handed_on": HANDED_ON,
    "read_first": READ_FIRST,
    "method": METHOD,
    "safety": SAFETY,
    "flow": FLOW,
    "seen": SEEN,
    "details": DETAILS,
    "exploratory": EXPLORATORY,
    "fooled": FOOLED,
    "next": NEXT,
    "cautions": CAUTIONS_HEAD,
}
"""By name, for the templates of pages."""


def finding_heading(locked: bool) -> str:
    """Head the finding; without a locked plan it is exploratory.

    Parameters
    ----------
    locked : bool

    Returns
    -------
    str
    """
    return "Finding" if locked else "Finding (exploratory: no locked plan)"
