"""Findings in plain sentences.

Whatever the kit says about a comparison is said here, so that command, notebook, handout and
slides use the same words.
"""

from pmulab.wording.amounts import (
    PLAIN_SIDES,
    capital,
    decimals,
    direction_words,
    level_words,
    span,
    unit_of,
    with_unit,
)
from pmulab.wording.cautions import CAUTIONS, CLOSING, INVENTED, PRACTICE_CLOSING
from pmulab.wording.certainties import certainty, rated
from pmulab.wording.comparisons import (
    difference_parts,
    difference_short,
    difference_words,
    finding,
    headline_words,
    only_measured,
    reading,
)
from pmulab.wording.details import better_words, details, p_words
from pmulab.wording.elsewhere import elsewhere_lines
from pmulab.wording.few import few_words
from pmulab.wording.found import found_lines
from pmulab.wording.headings import HEADINGS, finding_heading
from pmulab.wording.judging import judged_knowing, judged_words
from pmulab.wording.parts import part_words, parts_differ_words
from pmulab.wording.pooling import (
    check_lines,
    footnote_lines,
    pooled_certainty,
    pooled_finding,
    registered_words,
    spread_lines,
    study_words,
)
from pmulab.wording.practice import (
    change_words,
    from_study_words,
    line_lines,
    practice_fooled,
    practice_head,
    practice_next,
    shares_lines,
)
from pmulab.wording.safety import harm_lines, safety_heads, safety_lines, stopped_words
from pmulab.wording.scoring import agreement_line, poor_lines, scoring_lines, scoring_summary
from pmulab.wording.studies import (
    departures,
    flow_lines,
    fooled_lines,
    method_lines,
    next_lines,
    origin,
    plan_state,
    running_lines,
    when_words,
)

__all__ = [
    "CAUTIONS",
    "CLOSING",
    "HEADINGS",
    "INVENTED",
    "PLAIN_SIDES",
    "PRACTICE_CLOSING",
    "agreement_line",
    "better_words",
    "capital",
    "certainty",
    "change_words",
    "check_lines",
    "decimals",
    "departures",
    "details",
    "difference_parts",
    "difference_short",
    "difference_words",
    "direction_words",
    "elsewhere_lines",
    "few_words",
    "finding",
    "finding_heading",
    "flow_lines",
    "fooled_lines",
    "footnote_lines",
    "found_lines",
    "from_study_words",
    "harm_lines",
    "headline_words",
    "judged_knowing",
    "judged_words",
    "level_words",
    "line_lines",
    "method_lines",
    "next_lines",
    "only_measured",
    "origin",
    "p_words",
    "part_words",
    "parts_differ_words",
    "plan_state",
    "pooled_certainty",
    "pooled_finding",
    "poor_lines",
    "practice_fooled",
    "practice_head",
    "practice_next",
    "rated",
    "reading",
    "registered_words",
    "running_lines",
    "safety_heads",
    "safety_lines",
    "scoring_lines",
    "scoring_summary",
    "shares_lines",
    "span",
    "spread_lines",
    "stopped_words",
    "study_words",
    "unit_of",
    "when_words",
    "with_unit",
]
