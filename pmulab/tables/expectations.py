"""What the cross-table rules need to know of a plan, without knowing the plan."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from pmulab.tables.fields import Table
from pmulab.tables.schema import study_tables

ArmKey = Literal["A", "B"]
Side = Literal["L", "R"]
Shown = str | float | tuple[float, float]
"""What a column of the sessions table shows of a way: a choice, a number, or lowest and highest."""


def shown_words(value: Shown) -> str:
    """Say what a column has to show, or shows.

    Parameters
    ----------
    value : str, float or (float, float)

    Returns
    -------
    str
    """
    if isinstance(value, tuple) and value[0] != value[1]:
        return f"{value[0]:g} to {value[1]:g}"
    one = value[0] if isinstance(value, tuple) else value
    return one if isinstance(one, str) else f"{one:g}"


@dataclass(frozen=True, slots=True)
class Allotted:
    """What one client's opened card says.

    Parameters
    ----------
    arm_on_left : {'A', 'B'} or None
        Arm of the client's own left eyelid, in a within-person design.
    first_side : {'L', 'R'} or None
        The side worked first, in a within-person design.
    arm : {'A', 'B'} or None
        The client's arm, in parallel groups.
    opened : date or None
        When the card was opened.
    """

    arm_on_left: ArmKey | None = None
    first_side: Side | None = None
    arm: ArmKey | None = None
    opened: date | None = None

    def arm_on(self, side: str) -> ArmKey | None:
        """Return the arm the card gives to a side."""
        if self.arm_on_left is None:
            return self.arm
        if side == "L":
            return self.arm_on_left
        return "B" if self.arm_on_left == "A" else "A"


@dataclass(frozen=True, slots=True)
class Expectations:
    """What a plan lets the tables expect.

    Parameters
    ----------
    design : {'within-person', 'parallel'}, default='within-person'
    arms : mapping of {'A', 'B'} to label
        As the plan words them.
    lid : {'upper', 'lower'} or None
        The lid the study is about; None accepts both.
    healed_window : tuple of (int, int), default=(28, 70)
        First and last day, after the session, on which a healed line is judged.
    planned_day : int, default=42
    allocation : mapping of client code to Allotted, or None
        Clients whose card was opened; None when no allocation is known.
    blinded_outcome : bool, default=False
        Whether the plan says that the outcome is scored blind.
    tables : mapping of table name to Table
        The four tables as this study needs them.
    recorded : mapping of {'A', 'B'} to mapping of column to value
        What the sessions table has to show of each way.
    today : date or None
        The day on which the tables are read; None when days to come are not looked for.
    """

    design: Literal["within-person", "parallel"] = "within-person"
    arms: Mapping[str, str] = field(default_factory=lambda: {"A": "A", "B": "B"})
    lid: Literal["upper", "lower"] | None = None
    healed_window: tuple[int, int] = (28, 70)
    planned_day: int = 42
    allocation: Mapping[str, Allotted] | None = None
    blinded_outcome: bool = False
    tables: Mapping[str, Table] = field(default_factory=study_tables)
    recorded: Mapping[ArmKey, Mapping[str, Shown]] = field(default_factory=dict)
    today: date | None = None

    def __hash__(self) -> int:
        return hash((self.design, self.lid, self.healed_window, self.planned_day, self.today))
