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
from pmulab.wording.pooling import (
    check_lines,
    footnote_lines,
    pooled_certainty,
    pooled_finding,
    registered_words,
    spread_lines,
    study_words,
)
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
    "check_lines",
    "decimals",
    "departures",
    "details",
    "difference_parts",
    "difference_words",
    "direction_words",
    "finding",
    "flow_lines",
    "fooled_lines",
    "footnote_lines",
    "judged_words",
    "level_words",
    "method_lines",
    "next_lines",
    "p_words",
    "plan_state",
    "pooled_certainty",
    "pooled_finding",
    "registered_words",
    "running_lines",
    "safety_lines",
    "span",
    "spread_lines",
    "study_words",
    "unit_of",
    "when_words",
    "with_unit",
]
