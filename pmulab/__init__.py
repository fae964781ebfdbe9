"""pmulab: learn from your own cases without fooling yourself."""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_VERBS = {
    "absent": "absent",
    "agreement": "scoring_found",
    "amend": "amend",
    "analyse": "analyse",
    "begin_practice": "chart",
    "bring_back": "put_away",
    "chart": "chart",
    "check": "check",
    "collect_scores": "score_collect",
    "enrol": "enrol",
    "fooled": "fooled",
    "handout": "handout",
    "how_often_fooled": "fooled",
    "lab": "lab",
    "lock": "lock",
    "look_at_photo": "measure",
    "mark_photo": "photos",
    "measure": "measure",
    "new": "new",
    "open_group": "group",
    "open_study": "open_study",
    "parts": "parts",
    "prepare_scoring": "score_prepare",
    "photos": "photos",
    "pack": "pack",
    "pool": "pool",
    "preview": "preview",
    "put_away": "put_away",
    "receive": "receive",
    "register": "register",
    "revise": "revise",
    "score_here": "score_here",
    "size": "size",
    "slides": "slides",
    "standing": "standing",
    "strip": "strip",
    "studies": "standing",
    "take_photo": "photos",
    "take_records": "take_records",
}
"""The verbs, and the station that holds each; loaded when they are first used."""


def __getattr__(name: str) -> Any:
    if name in _VERBS:
        return getattr(import_module(f"pmulab.stations.{_VERBS[name]}"), name)
    if name == "panels":
        return import_module("pmulab.panels")
    raise AttributeError(f"module 'pmulab' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *_VERBS, "panels"])
