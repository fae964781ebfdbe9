"""Forms for the notebooks: each calls one verb of the kit and shows the line that does the same."""

from pmulab.panels.absent import Absent
from pmulab.panels.analyse import Analyse
from pmulab.panels.announce import Announce
from pmulab.panels.begin import Begin
from pmulab.panels.choose import ChooseStudy
from pmulab.panels.enrol import Enrol
from pmulab.panels.entries import Promises, Ways
from pmulab.panels.fooled import Fooled
from pmulab.panels.lock import Lock
from pmulab.panels.matters import Matters
from pmulab.panels.overview import Overview
from pmulab.panels.pack import Pack
from pmulab.panels.panel import Panel
from pmulab.panels.photos import MarkPhoto, MeasurePhotos, TakePhoto
from pmulab.panels.pool import Pool
from pmulab.panels.records import Records
from pmulab.panels.scoring import CollectScores, PrepareRound, ScorePhotos
from pmulab.panels.share import Share
from pmulab.panels.watch import Watch

__all__ = [
    "Absent",
    "Analyse",
    "Announce",
    "Begin",
    "ChooseStudy",
    "CollectScores",
    "Enrol",
    "Fooled",
    "Lock",
    "MarkPhoto",
    "Matters",
    "MeasurePhotos",
    "Overview",
    "Pack",
    "Panel",
    "Pool",
    "PrepareRound",
    "Promises",
    "Records",
    "ScorePhotos",
    "Share",
    "TakePhoto",
    "Watch",
    "Ways",
]
