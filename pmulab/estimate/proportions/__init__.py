"""Yes/no outcomes: touch-up needed or not, event seen or not."""

from pmulab.estimate.proportions.one_group import (
    exact_proportion,
    single_proportion,
    zero_events_upper_limit,
)
from pmulab.estimate.proportions.same_clients import (
    mcnemar_test,
    paired_risk_difference,
    paired_risk_difference_test,
    tango_risk_difference,
)
from pmulab.estimate.proportions.two_groups import (
    miettinen_nurminen_risk_difference,
    newcombe_risk_difference,
    risk_difference,
    risk_difference_test,
)

__all__ = [
    "exact_proportion",
    "mcnemar_test",
    "miettinen_nurminen_risk_difference",
    "newcombe_risk_difference",
    "paired_risk_difference",
    "paired_risk_difference_test",
    "risk_difference",
    "risk_difference_test",
    "single_proportion",
    "tango_risk_difference",
    "zero_events_upper_limit",
]
