"""Show the handout before it is written."""

from pmulab.sharing.handout import handout_html
from pmulab.stations.answer import Answer
from pmulab.stations.current import current_findings
from pmulab.stations.opening import Opened, opened
from pmulab.stations.reasons import maker_lines
from pmulab.wording.plans import telling_lines


def preview(study: Opened, made_by: str = "") -> Answer[str]:
    """Make the handout from findings.json without writing it.

    Parameters
    ----------
    study : Study or path-like
    made_by : str, default=''
        Who hands it on, at the head; no client and no address.

    Returns
    -------
    Answer
        Its value is the page, as HTML.

    Raises
    ------
    UserError
        If nothing was analysed yet, or plan, records or findings changed since.
    """
    findings = current_findings(opened(study))
    lines = (
        *maker_lines(made_by),
        *telling_lines(findings.plan),
        "The handout as it would be saved:",
    )
    return Answer(lines, handout_html(findings, made_by))
