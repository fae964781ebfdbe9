"""What a pack is made of: file names, limits, and its contents before they are written."""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

from pmulab.findings import Findings
from pmulab.tables.fields import Table

if TYPE_CHECKING:
    import pandas as pd

FORMAT = 2
"""Version of the pack that this release writes; it reads the older ones too."""

ENDING = ".zip"
DESCRIPTOR, PLAN, FINDINGS, ITEMS = (
    "datapackage.json",
    "plan.json",
    "findings.json",
    "reporting.json",
)
TABLES = ("differences", "clients", "sessions", "healed")
FILES = frozenset({DESCRIPTOR, PLAN, FINDINGS, ITEMS, *(f"{name}.csv" for name in TABLES)})
"""Everything that a pack may hold, and must hold."""

MOST_BYTES = 5_000_000
MOST_UNPACKED = 20_000_000
MOST_RATIO = 200
MOST_DEPTH = 30
LONGEST_LABEL = 80


@dataclass(frozen=True, slots=True, eq=False)
class Contents:
    """Everything that leaves the studio in one pack, and what stays.

    Parameters
    ----------
    findings : Findings
        De-identified, of the clients who agreed, or of everybody where rows are withheld; no
        single values.
    tables : mapping of str to Table
    frames : mapping of str to DataFrame
        Rows by table, under fresh codes.
    clients, left_out : int
        Clients whose numbers are in the averages, and clients who did not agree.
    withheld : sequence of str
        Columns that were emptied because an answer stands for fewer than five clients.
    plan_withheld : sequence of str
        Entries of the plan that were emptied because they look as if they told a person.
    items : sequence of mapping
        Reporting items, as plain data.
    made : str
        Day, ISO 8601.
    made_by : str
        Who hands it on, as they wish to be named; may be empty.
    agreed : int
        Enrolled clients who agreed to share their numbers, with a result or without.
    rows_withheld : bool, default=False
        True when no client's row leaves, as beside the averages of everybody, which the handout
        gives, they would tell the values of those who did not agree.
    """

    findings: Findings
    tables: Mapping[str, Table]
    frames: "Mapping[str, pd.DataFrame]"
    clients: int
    left_out: int
    withheld: tuple[str, ...]
    plan_withheld: tuple[str, ...]
    items: tuple[Mapping[str, str], ...]
    made: str
    made_by: str = ""
    agreed: int = 0
    rows_withheld: bool = False

    @property
    def label(self) -> str:
        """What the study is called where several are shown."""
        return self.made_by or self.findings.plan.study.code


def study_fingerprint(plan: str, allocation: str) -> str:
    """Give the fingerprint of a study: of its plan and its own cards together.

    Parameters
    ----------
    plan, allocation : str
        SHA-256 of each. Two studios that follow one plan have cards of their own.

    Returns
    -------
    str
        SHA-256.
    """
    return sha256(f"{plan}:{allocation}".encode()).hexdigest()
