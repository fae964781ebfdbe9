"""What was changed since the journal last knew it, for the check and for honest corrections."""

from collections.abc import Iterator, Sequence

from pmulab.entries import AMENDED
from pmulab.errors import UserError
from pmulab.findings import read_findings
from pmulab.study import ENROLLED, JOURNAL, Entry, Study, read_text
from pmulab.tables import Records
from pmulab.tables.guards import SCORED_NAME, find_sources

FINDINGS = "findings.json"
_ANALYSED = "analysed"


def last_known(entries: Sequence[Entry]) -> str:
    """Give the fingerprint of the records when they were last analysed to the end, or amended.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    str
        '' when they never were.
    """
    for entry in reversed(entries):
        if entry.event == AMENDED or finished(entry):
            return str(entry.detail.get("records", ""))
    return ""


def record_files(study: Study) -> Iterator[str]:
    """Name the files of the records that people type into.

    Parameters
    ----------
    study : Study

    Yields
    ------
    str
    """
    for path in find_sources(study.folder)[0]:
        name = path.relative_to(study.folder).as_posix()
        if name != ENROLLED and not SCORED_NAME.fullmatch(name):
            yield name


def since_analysis(study: Study, records: Records) -> Iterator[str]:
    """Say what was changed after a finished analysis: records without a reason, the journal.

    Parameters
    ----------
    study : Study
    records : Records

    Yields
    ------
    str
    """
    head = lost_head(study)
    if head:
        yield (
            f"{JOURNAL}: {FINDINGS} was made when it had a line {head.partition(':')[0]} that is "
            f"gone or another one now. Put {JOURNAL} back from a copy, or analyse again."
        )
    entries = study.journal()
    done = [entry for entry in entries if finished(entry)]
    if done and records.fingerprint != last_known(entries):
        yield (
            f"The records were changed after the analysis ({done[-1].place}). If this corrects "
            f'them, say why: pmulab amend {study.folder} --reason "why". Then analyse again.'
        )


def lost_head(study: Study) -> str:
    """Give the last line of the journal that findings.json knows and the journal does not.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
        '' where nothing is known to be gone.
    """
    path = study.path(FINDINGS)
    try:
        head = read_findings(read_text(path)).provenance.journal if path.exists() else ""
    except UserError:
        return ""  # whoever reads the findings themselves is told
    return "" if study.holds(head) else head


def where_changed(study: Study) -> Iterator[str]:
    """Say between which lines of the journal plan, cards, answers and records were changed.

    Parameters
    ----------
    study : Study

    Yields
    ------
    str
        One sentence for the latest change of each file; of records also where that is how they are
        filled in.
    """
    latest = {one.name: one for one in study.changed_outside()}
    typed = set(record_files(study))
    for name, one in sorted(latest.items()):
        if name not in typed:
            yield str(one)
        elif one.before is None:
            yield f"{one} That is as it should be if you typed into it."


def corrections(entries: Sequence[Entry]) -> Iterator[str]:
    """Say what was amended, when and why, for everything that is handed on.

    Parameters
    ----------
    entries : sequence of Entry

    Yields
    ------
    str
    """
    for entry in entries:
        if entry.event == AMENDED:
            files = ", ".join(map(str, entry.detail["files"]))
            yield (
                f"Corrected on {entry.time[:10]} ({files}): {entry.detail['reason']}."
                f"{_harm_words(entry)}"
            )


def _harm_words(entry: Entry) -> str:
    """Say which recorded harm a correction took out or made milder."""
    gone = ", ".join(map(str, entry.detail.get("gone", ())))
    milder = ", ".join(map(str, entry.detail.get("milder", ())))
    told = f" It took out recorded harm: {gone}." if gone else ""
    return told + (f" It made recorded harm milder: {milder}." if milder else "")


def finished(entry: Entry) -> bool:
    """Tell whether a line of the journal is an analysis of the finished study."""
    return entry.event == _ANALYSED and entry.detail.get("way") == "finished"
