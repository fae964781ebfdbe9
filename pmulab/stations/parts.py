"""Look at the main outcome in parts of the clients: exploratory, never an answer."""

from collections.abc import Iterator
from dataclasses import asdict

from pmulab.analysis.parts import in_parts
from pmulab.estimate.subgroups import FEWEST, Subgroups
from pmulab.findings import Findings
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.current import current_findings
from pmulab.stations.opening import Opened, opened
from pmulab.wording import part_words, parts_differ_words


def parts(study: Opened, by: str) -> Answer[Subgroups]:
    """Compare the arms in parts of the clients, after the study was analysed.

    Parameters
    ----------
    study : Study or path-like
    by : str
        Column of the clients table that was known before anybody was treated: skin_type,
        age_band, ...

    Returns
    -------
    Answer
        Its value holds one answer or refusal for each part, and how two of them differ. Nothing
        is written: what is seen here is for the next question only.

    Raises
    ------
    UserError
        If nothing was analysed yet, something changed since, or the column cannot part clients.
    """
    folder = opened(study)
    findings = current_findings(folder)
    records, _ = records_of(folder)
    found = in_parts(findings.plan, folder.assignments(), records, by)
    return Answer(tuple(_lines(findings, found, by)), found, data={"parts": asdict(found)})


def _lines(findings: Findings, found: Subgroups, by: str) -> Iterator[str]:
    outcome = findings.plan.primary
    if findings.plan.study.invented:
        yield "Invented data for demonstration."
    yield (
        f"Exploratory: {outcome.title} by {by}. It was not planned, and parts of the clients find "
        f"differences by luck; below {FEWEST} in each way a part is not looked at alone."
    )
    for one in found.parts:
        yield part_words(one.label, one.answer, findings.plan)
    yield parts_differ_words(found.between, findings.plan)
