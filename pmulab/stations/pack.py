"""Make the pack: de-identified numbers for the study group, seen before they leave."""

from dataclasses import asdict
from pathlib import Path

from pmulab.errors import UserError
from pmulab.findings import Findings
from pmulab.folders import HOUR, tidy
from pmulab.packs.contents import Source, contents
from pmulab.packs.model import ENDING, Contents
from pmulab.packs.preview import preview_lines
from pmulab.packs.writing import pack_bytes
from pmulab.sharing import checklists
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.current import current_findings
from pmulab.stations.opening import Opened, opened
from pmulab.study import PACK, Study, disk_error, write_new


def pack(
    study: Opened, to: str | Path = "", made_by: str = "", *, preview: bool = False
) -> Answer[Path | None]:
    """Write the pack of a finished study, or only show what would leave.

    Parameters
    ----------
    study : Study or path-like
    to : path-like, default=''
        A new file; pack.zip in the study folder if not given.
    made_by : str, default=''
        What the study is called where several are shown; its short name if not given.
    preview : bool, default=False
        Only show; write nothing.

    Returns
    -------
    Answer
        Its value is the path of the pack; None for a preview.

    Raises
    ------
    UserError
        If nothing was analysed yet, something changed since, nobody agreed to share, or the
        file is there already.
    """
    folder = opened(study)
    told = _contents(folder, made_by)
    lines = tuple(preview_lines(told))
    if preview:
        return Answer((*lines, "Nothing was written: this is a preview."), None)
    path = _written(folder, told, to)
    last = "The pack is ready. Put it into the folder of your study group, whatever it says."
    return Answer((*lines, last), path, (path,))


def _contents(folder: Study, made_by: str) -> Contents:
    findings = current_findings(folder)
    records, _ = records_of(folder)
    source = Source(folder.assignments(), records, findings)
    return contents(source, _items, folder.now().date(), made_by)


def _items(findings: Findings) -> list[dict[str, str]]:
    return [asdict(item) for item in checklists(findings)]


def _written(folder: Study, told: Contents, to: str | Path) -> Path:
    data = pack_bytes(told)
    beside = Path(to).expanduser() if to else None
    with folder.writing():
        if beside is not None:
            tidy([beside.parent], older=HOUR)
            _refuse_name(beside)
        # written down first: no pack ever lies there that the journal does not know
        folder.record(
            "pack written", clients=told.clients, left_out=told.left_out, label=told.label
        )
        return _beside(beside, data) if beside else folder.remake(PACK, data)


def _refuse_name(path: Path) -> None:
    if path.suffix != ENDING:
        raise UserError(f"{path.name} is no name for a pack.", f"Let it end in {ENDING}.")
    if path.exists():
        raise UserError(
            f"{path} is already there and is never overwritten.", "Choose another name."
        )


def _beside(path: Path, data: bytes) -> Path:
    try:
        write_new(path, data)
    except OSError as error:
        raise disk_error(error, path) from None
    return path
