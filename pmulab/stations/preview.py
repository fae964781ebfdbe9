"""Show the handout before it is written."""

from collections.abc import Iterator

from pmulab.errors import UserError
from pmulab.findings import Findings, read_findings
from pmulab.sharing.handout import handout_html
from pmulab.stations.analyse import FINDINGS
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.opening import Opened, opened
from pmulab.study import Study, read_text


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
    findings = fresh_findings(opened(study))
    return Answer(("The handout as it would be saved:",), handout_html(findings, made_by))


def fresh_findings(folder: Study) -> Findings:
    """Read the findings of a study, if nothing changed since they were made.

    Parameters
    ----------
    folder : Study

    Returns
    -------
    Findings

    Raises
    ------
    UserError
        If nothing was analysed yet, or plan, records or findings changed since.
    """
    path = folder.path(FINDINGS)
    if not path.exists():
        raise UserError(
            f"Nothing was analysed in {folder.folder} yet.",
            f"Analyse first: pmulab analyse {folder.folder}",
        )
    findings = read_findings(read_text(path), str(path))
    for changed, what in _stale(folder, findings):
        if changed:
            raise UserError(
                f"{what} after this analysis.",
                f"Analyse again, so that this is told: pmulab analyse {folder.folder}",
            )
    return findings


def _stale(study: Study, findings: Findings) -> Iterator[tuple[bool, str]]:
    """Say what may have changed since the findings were written, cheapest first."""
    analysed = [entry.detail for entry in study.journal() if entry.event == "analysed"]
    kept = analysed[-1].get("findings") if analysed else ""
    yield kept != study.file_hash(FINDINGS), f"{FINDINGS} was changed"
    yield findings.provenance.changes != study.plan_changes(), "plan.toml was edited"
    yield findings.provenance.tampering != study.tampering(), "Files were changed outside pmulab"
    records, _ = records_of(study)
    yield findings.provenance.records != records.fingerprint, "The records were changed"
