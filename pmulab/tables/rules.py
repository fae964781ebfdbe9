"""Rules that need more than one row or table, each `rule(records, expectations)`.

A rule yields problems and changes nothing; a missing value breaks no rule here.
"""

from collections.abc import Callable, Iterator

from pmulab.tables import rules_card, rules_care, rules_healed, rules_visits, rules_ways
from pmulab.tables.expectations import Expectations
from pmulab.tables.records import Records
from pmulab.tables.report import Problem

Rule = Callable[[Records, Expectations], Iterator[Problem]]

RULES: tuple[Rule, ...] = (
    *rules_care.RULES,
    *rules_visits.RULES,
    *rules_card.RULES,
    *rules_healed.RULES,
    *rules_ways.RULES,
)
