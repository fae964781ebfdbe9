"""Let a checked workbook from elsewhere become the records of a study; the earlier one stays."""

from pathlib import Path

from pmulab.disk import read_bytes
from pmulab.errors import UserError
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.opening import Opened, opened
from pmulab.study import RECORDS


def take_records(study: Opened, file: str | Path) -> Answer[Path]:
    """Put a workbook that was filled in elsewhere in the place of the study's own.

    Parameters
    ----------
    study : Study or path-like
    file : path-like
        A workbook without problems that block the analysis.

    Returns
    -------
    Answer
        Its value is the path of the records. What stood there before is kept beside it,
        numbered.

    Raises
    ------
    UserError
        If the file is no workbook, or holds problems that block the analysis.
    """
    folder, path = opened(study), Path(file).expanduser()
    if path.suffix.lower() != ".xlsx":
        raise UserError(
            f"{path.name} is no workbook (.xlsx).",
            "Save it as a workbook with your spreadsheet program, then take it in.",
        )
    _, report = records_of(folder, path)
    if report.blocks:
        raise UserError(
            f"{path.name} was not taken in. {report.summary}",
            "Put the places right that the check lists, save, and check it again.",
        )
    with folder.writing():
        kept = folder.renew(RECORDS, read_bytes(path))
        folder.record("records taken in", file=path.name, content=folder.file_hash(RECORDS))
    told = f"{path.name} is now the records of this study ({RECORDS}); the earlier one stays beside"
    return Answer((f"{told} it, numbered.",), kept, (kept,))
