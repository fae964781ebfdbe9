"""Watching one practice: consecutive clients outside any study, charted in order of time.

No claim of a cause is made here: a dated change is no comparison.
"""

from typing import TYPE_CHECKING

from pmulab.lazily import lazily
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
    from pmulab.practice.from_study import held_back, rows_of

__all__ = [
    "FEWEST_BASELINE",
    "BeforeAfter",
    "Line",
    "Moment",
    "Shares",
    "Tuned",
    "Watched",
    "held_back",
    "rows_of",
    "watch",
]

_LATER = {"held_back": "from_study", "rows_of": "from_study", "watch": "charting"}

__getattr__ = lazily(__name__, _LATER)
