"""Watching one practice: consecutive clients outside any study, charted in order of time.

No claim of a cause is made here: a dated change is no comparison.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from pmulab.practice.model import (
    FEWEST_BASELINE,
    BeforeAfter,
    Line,
    Moment,
    Shares,
    Tuned,
    Watched,
)

if TYPE_CHECKING:
    from pmulab.practice.charting import watch
    from pmulab.practice.from_study import rows_of

__all__ = [
    "FEWEST_BASELINE",
    "BeforeAfter",
    "Line",
    "Moment",
    "Shares",
    "Tuned",
    "Watched",
    "rows_of",
    "watch",
]

_LATER = {"rows_of": "from_study", "watch": "charting"}


def __getattr__(name: str) -> Any:
    if name in _LATER:
        return getattr(import_module(f"pmulab.practice.{_LATER[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
