"""Write the handout: two or three printable pages for the study group."""

from pathlib import Path

from pmulab.stations.analyse import FINDINGS
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened
from pmulab.stations.preview import preview

HANDOUT = "handout.html"


def handout(study: Opened, made_by: str = "") -> Answer[Path]:
    """Write handout.html from findings.json.

    Parameters
    ----------
    study : Study or path-like
    made_by : str, default=''
        Who hands it on, at the head; no client and no address.

    Returns
    -------
    Answer
        Its value is the path of the page.

    Raises
    ------
    UserError
        If nothing was analysed yet, or plan or records changed since.
    """
    folder = opened(study)
    *mind, _ = (shown := preview(folder, made_by)).lines
    with folder.writing():
        path = folder.remake(HANDOUT, shown.value)
        folder.record("handout written", findings=folder.file_hash(FINDINGS))
    ready = "The handout is ready: open it in a browser and print it (A4 or Letter)."
    return Answer((*mind, ready), path, (path,))
