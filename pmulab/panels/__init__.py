"""Forms for the notebooks: each calls one verb of the kit and shows the line that does the same."""

from typing import TYPE_CHECKING

from pmulab.lazily import lazily

if TYPE_CHECKING:
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

_FORMS = {
    "Absent": "absent",
    "Analyse": "analyse",
    "Announce": "announce",
    "Begin": "begin",
    "ChooseStudy": "choose",
    "CollectScores": "scoring",
    "Enrol": "enrol",
    "Fooled": "fooled",
    "Lock": "lock",
    "MarkPhoto": "photos",
    "Matters": "matters",
    "MeasurePhotos": "photos",
    "Overview": "overview",
    "Pack": "pack",
    "Panel": "panel",
    "Pool": "pool",
    "PrepareRound": "scoring",
    "Promises": "entries",
    "Records": "records",
    "ScorePhotos": "scoring",
    "Share": "share",
    "TakePhoto": "photos",
    "Watch": "watch",
    "Ways": "entries",
}
"""The forms, and the module that holds each; loaded when they are first used."""

__getattr__ = lazily(__name__, _FORMS)
