"""Charts of a practice as one page to look at and print."""

from collections.abc import Sequence
from dataclasses import replace

from markupsafe import Markup

from pmulab.figures import line_over_time, share_by_month
from pmulab.figures.lettering import clean
from pmulab.practice import Watched
from pmulab.sharing.further_items import SERIES_SOURCE, series_items
from pmulab.sharing.rendering import rendered
from pmulab.wording import (
    CAUTIONS,
    HEADINGS,
    PRACTICE_CLOSING,
    capital,
    line_lines,
    practice_fooled,
    practice_head,
    practice_next,
    shares_lines,
)

GENERATOR = "pmulab chart"


def practice_html(watched: Watched, about: Sequence[str] = ()) -> str:
    """Write the charts as one HTML file that needs nothing from outside.

    Parameters
    ----------
    watched : Watched
    about : sequence of str
        What is to be said of the table they come from.

    Returns
    -------
    str
        A page without script or outside address; what went wrong stands before any chart.
    """
    measures = [
        (capital(line.outcome.title), Markup(line_over_time(line).svg), list(line_lines(line)))
        for line in watched.lines
    ] + [
        (capital(one.outcome.title), Markup(share_by_month(one).svg), list(shares_lines(one)))
        for one in watched.shares
    ]
    return rendered(
        "practice.html.jinja",
        generator=GENERATOR,
        heads=HEADINGS,
        head=[clean(line) for line in practice_head(watched)],
        invented=watched.invented,
        measures=[(title, svg, [clean(one) for one in lines]) for title, svg, lines in measures],
        fooled=list(practice_fooled(watched)),
        next=list(practice_next(watched)),
        items=[replace(one, text=clean(one.text)) for one in series_items(watched)],
        items_source=SERIES_SOURCE,
        cautions=CAUTIONS,
        about=[clean(line) for line in about],
        closing=PRACTICE_CLOSING,
    )
