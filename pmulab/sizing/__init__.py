"""How many clients: what a comparison of a plan could show at each size.

`spreads` says how far values spread, `earlier` takes it from a finished study, `chances` gives the
power of the test that the analysis will run, `sizes` puts them together.
"""

from pmulab.sizing.earlier import Spread, spread_seen
from pmulab.sizing.sizes import (
    SIZES,
    Needed,
    SizeRow,
    Sizes,
    clients_after,
    clients_to_see,
    sizes,
)
from pmulab.sizing.spreads import cautious_sd, cautious_share, guesses, sd_from_share

__all__ = [
    "SIZES",
    "Needed",
    "SizeRow",
    "Sizes",
    "Spread",
    "cautious_sd",
    "cautious_share",
    "clients_after",
    "clients_to_see",
    "guesses",
    "sd_from_share",
    "sizes",
    "spread_seen",
]
