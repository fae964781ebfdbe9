"""What is recorded: the four tables, reading them, checking them, and their templates.

`read_and_check` is the one door: it reads a study folder (or one file), lists what it mended,
and reports every problem at once.
"""

from typing import TYPE_CHECKING

from pmulab.lazily import lazily
from pmulab.tables.expectations import Allotted, Expectations
from pmulab.tables.fields import MISSING_REASONS, TABLE_NAMES, Field, Fill, Table
from pmulab.tables.report import BLOCKS, LOOK, Mend, Problem, Report
from pmulab.tables.schema import study_tables

if TYPE_CHECKING:
    from pmulab.tables.checking import read_and_check
    from pmulab.tables.days import days_healed, healed_long_enough, session_day
    from pmulab.tables.identifiers import find_identifiers
    from pmulab.tables.practice import Practice, practice_tables, practice_workbook, read_practice
    from pmulab.tables.reading import read_file, read_folder
    from pmulab.tables.records import Records, records_from_frames
    from pmulab.tables.workbook import workbook_bytes

__all__ = [
    "BLOCKS", "LOOK", "MISSING_REASONS", "TABLE_NAMES", "Allotted", "Expectations", "Field",
    "Fill", "Mend", "Practice", "Problem", "Records", "Report", "Table", "days_healed",
    "find_identifiers",
    "healed_long_enough", "practice_tables", "practice_workbook", "read_and_check", "read_file",
    "read_folder", "read_practice", "records_from_frames",
    "session_day", "study_tables", "workbook_bytes",
]  # fmt: skip

_LATER = {
    "Records": "records",
    "records_from_frames": "records",
    "Practice": "practice",
    "practice_tables": "practice",
    "practice_workbook": "practice",
    "read_practice": "practice",
    "read_and_check": "checking",
    "read_file": "reading",
    "read_folder": "reading",
    "days_healed": "days",
    "healed_long_enough": "days",
    "session_day": "days",
    "find_identifiers": "identifiers",
    "workbook_bytes": "workbook",
}

__getattr__ = lazily(__name__, _LATER)
