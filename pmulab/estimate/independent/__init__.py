"""Two groups of different clients: differences a - b between them."""

from pmulab.estimate.independent.chance import probability_a_higher
from pmulab.estimate.independent.difference import (
    leading_difference,
    mean_difference,
    ratio,
    typical_shift,
)
from pmulab.estimate.independent.standardised import standardised_difference, standardised_error
from pmulab.estimate.independent.student import t_test, welch_mean_difference, welch_test

__all__ = [
    "leading_difference",
    "mean_difference",
    "probability_a_higher",
    "ratio",
    "standardised_difference",
    "standardised_error",
    "t_test",
    "typical_shift",
    "welch_mean_difference",
    "welch_test",
]
