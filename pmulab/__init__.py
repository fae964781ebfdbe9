"""pmulab: learn from your own cases without fooling yourself."""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_VERBS = {
    "absent": "absent",
    "analyse": "analyse",
    "check": "check",
    "enrol": "enrol",
    "handout": "handout",
    "lab": "lab",
    "lock": "lock",
    "new": "new",
    "open_group": "group",
    "open_study": "open_study",
    "pack": "pack",
    "pool": "pool",
    "preview": "preview",
    "receive": "receive",
    "register": "register",
    "revise": "revise",
    "size": "size",
    "standing": "standing",
    "studies": "standing",
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
