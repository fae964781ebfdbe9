"""Forms for the notebooks: each calls one verb of the kit and shows the line that does the same."""

from pmulab.panels.analyse import Analyse
from pmulab.panels.begin import Begin
from pmulab.panels.choose import ChooseStudy
from pmulab.panels.enrol import Enrol
from pmulab.panels.entries import Promises, Ways
from pmulab.panels.lock import Lock
from pmulab.panels.matters import Matters
from pmulab.panels.pack import Pack
from pmulab.panels.panel import Panel
from pmulab.panels.pool import Pool
from pmulab.panels.records import Records
from pmulab.panels.share import Share

__all__ = [
    "Analyse",
    "Begin",
    "ChooseStudy",
    "Enrol",
    "Lock",
    "Matters",
    "Pack",
    "Panel",
    "Pool",
    "Promises",
    "Records",
    "Share",
    "Ways",
]
