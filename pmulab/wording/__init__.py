"""Findings in plain sentences.

Whatever the kit says about a comparison is said here, so that command, notebook, handout and
slides use the same words.
"""

from pmulab.wording.amounts import (
    capital,
    decimals,
    direction_words,
    level_words,
    span,
    unit_of,
    with_unit,
)
from pmulab.wording.cautions import CAUTIONS, CLOSING, INVENTED
from pmulab.wording.comparisons import (
    MEANING,
    certainty,
    details,
    difference_parts,
    difference_words,
    finding,
    p_words,
)
from pmulab.wording.parts import part_words, parts_differ_words
from pmulab.wording.scoring import poor_lines, scoring_lines, scoring_summary
from pmulab.wording.studies import (
    departures,
    flow_lines,
    fooled_lines,
    judged_words,
    method_lines,
    next_lines,
    plan_state,
    running_lines,
    safety_lines,
    when_words,
)

__all__ = [
    "CAUTIONS",
    "CLOSING",
    "INVENTED",
    "MEANING",
    "capital",
    "certainty",
    "decimals",
    "departures",
    "details",
    "difference_parts",
    "difference_words",
    "direction_words",
    "finding",
    "flow_lines",
    "fooled_lines",
    "judged_words",
    "level_words",
    "method_lines",
    "next_lines",
    "p_words",
    "part_words",
    "parts_differ_words",
    "plan_state",
    "poor_lines",
    "running_lines",
    "safety_lines",
    "scoring_lines",
    "scoring_summary",
    "span",
    "unit_of",
    "when_words",
    "with_unit",
]
