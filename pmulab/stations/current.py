"""The findings as they stand, refused when anything they rest on has changed since."""

from collections.abc import Iterator

from pmulab.disk import typed
from pmulab.errors import UserError
from pmulab.findings import Findings, read_findings
from pmulab.stations.analyse import FINDINGS
from pmulab.stations.check import records_of
from pmulab.study import Study, read_text


def current_findings(study: Study) -> Findings:
    """Read findings.json for whatever is handed on from it.

    Parameters
    ----------
    study : Study

    Returns
    -------
    Findings

    Raises
    ------
    UserError
        If nothing was analysed yet, or plan, records or findings changed since.
    """
    path = study.path(FINDINGS)
    if not path.exists():
        raise UserError(
            f"Nothing was analysed in {study.folder} yet.",
            f"Analyse first: pmulab analyse {typed(study.folder)}",
        )
    findings = read_findings(read_text(path), str(path))
    for changed, what in _stale(study, findings):
        if changed:
            raise UserError(
                f"{what} after this analysis.",
                "Analyse again, so that what you hand on tells it: "
                f"pmulab analyse {typed(study.folder)}",
            )
    return findings


def _stale(study: Study, findings: Findings) -> Iterator[tuple[bool, str]]:
    """Say what may have changed since the findings were written, cheapest first."""
    analysed = [entry.detail for entry in study.journal() if entry.event == "analysed"]
    kept = analysed[-1].get("findings") if analysed else ""
    yield not study.holds(findings.provenance.journal), "Lines of the journal were taken away"
    yield kept != study.file_hash(FINDINGS), f"{FINDINGS} was changed"
    yield findings.provenance.changes != study.plan_changes(), "plan.toml was edited"
    yield findings.provenance.tampering != study.tampering(), "Files were changed outside pmulab"
    records, _ = records_of(study)
    yield findings.provenance.records != records.fingerprint, "The records were changed"
