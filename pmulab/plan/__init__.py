"""The plan of one comparison: what is compared, on whom, and what would matter.

A plan is read from `plan.toml` into frozen dataclasses; every fault is told with its line.
"""

from pmulab.plan.columns import EXCLUSION, plan_tables
from pmulab.plan.model import (
    FORMAT,
    About,
    Analysis,
    Arm,
    Arms,
    Clients,
    Design,
    Healed,
    Key,
    Kind,
    Outcome,
    Plan,
    Promises,
    fingerprint_of,
)
from pmulab.plan.precision import read_at, shown_decimals
from pmulab.plan.reading import Change, changes, entries_of, plan_from_dict, read_plan
from pmulab.plan.toml_text import line_of, read_toml

__all__ = [
    "EXCLUSION",
    "FORMAT",
    "About",
    "Analysis",
    "Arm",
    "Arms",
    "Change",
    "Clients",
    "Design",
    "Healed",
    "Key",
    "Kind",
    "Outcome",
    "Plan",
    "Promises",
    "changes",
    "entries_of",
    "fingerprint_of",
    "line_of",
    "plan_from_dict",
    "plan_tables",
    "read_at",
    "read_plan",
    "read_toml",
    "shown_decimals",
]
