"""Read the records as they are, mend their form, and report every problem at once."""

from pathlib import Path

from pmulab.stations.answer import Answer
from pmulab.stations.corrections import since_analysis, where_changed
from pmulab.stations.memory import lost, remember
from pmulab.stations.opening import Opened, alarms, expected, opened
from pmulab.stations.pause import pause_of, stop_of
from pmulab.stations.put_back import lost_lines
from pmulab.study import ENROLLED, Study
from pmulab.tables import Records, Report, read_and_check

REPORT = "check-report.html"


def check(study: Opened, file: str | Path | None = None) -> Answer[Report]:
    """Check the records of a study; the files themselves are never changed.

    Parameters
    ----------
    study : Study or path-like
    file : path-like, optional
        One workbook or table to check instead of those in the folder.

    Returns
    -------
    Answer
        Its value is the report. A pause that an adverse event asks for is said first.

    Raises
    ------
    UserError
        If there is no study in the folder.
    """
    folder = opened(study)
    records, report = records_of(folder, file)
    pause = pause_of(folder, records)
    found = lost(folder, records) if file is None else None
    stopped = stop_of(folder.journal()) is not None
    gone = lost_lines(folder, found, stopped=stopped) if found else ()
    told = (*pause.lines, *gone, *alarms(folder), *since_analysis(folder, records))
    where = tuple(where_changed(folder))
    with folder.writing():
        page = folder.remake(REPORT, report.to_page())
        news = file is None and remember(folder, records)
        folder.record("records checked", problems=len(report), blocks=report.blocks)
    return Answer(
        (*told, *report.to_text().splitlines(), *where),
        report,
        (page,),
        report.to_dict()
        | {"alarms": list(told), "changed": list(where)}
        | {"missing": bool(found), "harm_news": news},
        found_problems=bool(report.blocks or told),
    )


def records_of(study: Study, file: str | Path | None = None) -> tuple[Records, Report]:
    """Read and check the records of a study.

    Parameters
    ----------
    study : Study
    file : path-like, optional

    Returns
    -------
    tuple of (Records, Report)
    """
    if file is None:
        return read_and_check(study.folder, expected(study))
    enrolled = study.path(ENROLLED)
    beside = [enrolled] if enrolled.exists() and enrolled != Path(file) else []
    return read_and_check(file, expected(study), beside)
