"""Show the handout before it is written."""

from pmulab.errors import UserError
from pmulab.findings import read_findings
from pmulab.sharing.handout import handout_html
from pmulab.stations.analyse import FINDINGS
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened
from pmulab.study import read_text


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
        If nothing was analysed yet, or the plan changed since.
    """
    folder = opened(study)
    path = folder.path(FINDINGS)
    if not path.exists():
        raise UserError(
            f"Nothing was analysed in {folder.folder} yet.",
            f"Analyse first: pmulab analyse {folder.folder}",
        )
    findings = read_findings(read_text(path), str(path))
    if findings.provenance.changes != folder.plan_changes():
        raise UserError(
            "plan.toml was edited after this analysis.",
            f"Analyse again, so that the handout tells it: pmulab analyse {folder.folder}",
        )
    return Answer(("The handout as it would be saved:",), handout_html(findings, made_by))
