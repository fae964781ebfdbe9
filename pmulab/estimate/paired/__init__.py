"""Two arms on the same clients: differences a - b, each client counted once."""

from pmulab.estimate.paired.chance import probability_a_higher
from pmulab.estimate.paired.clients import Counts, correlation, counts, sd_of_differences
from pmulab.estimate.paired.difference import (
    leading_difference,
    mean_difference,
    t_mean_difference,
    t_test,
    typical_difference,
)
from pmulab.estimate.paired.ratio import ratio
from pmulab.estimate.paired.standardised import (
    standardised_by_sd_of_differences,
    standardised_difference,
    standardised_error,
)

__all__ = [
    "Counts",
    "correlation",
    "counts",
    "leading_difference",
    "mean_difference",
    "probability_a_higher",
    "ratio",
    "sd_of_differences",
    "standardised_by_sd_of_differences",
    "standardised_difference",
    "standardised_error",
    "t_mean_difference",
    "t_test",
    "typical_difference",
]
