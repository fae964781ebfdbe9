"""Write the page with the reference strip, ready to print."""

from pathlib import Path

from pmulab.sharing.photo_pages import reference_strip
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened

STRIP = "reference-strip.html"


def strip(study: Opened) -> Answer[Path]:
    """Write the printable strip with a grey bar and a millimetre scale.

    Parameters
    ----------
    study : Study or path-like

    Returns
    -------
    Answer
        Its value is the path of the page.

    Raises
    ------
    UserError
        If there is no study in the folder.
    """
    folder = opened(study)
    with folder.writing():
        path = folder.remake(STRIP, reference_strip())
    lines = (
        "Print it at 100 %, and check with a ruler that 0 to 40 is 40 mm long.",
        "The grey of a home printer is only roughly grey: lay a piece of a grey card over it.",
    )
    return Answer(lines, path, (path,))
