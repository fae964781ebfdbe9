"""Findings as pictures: each one an SVG that tells in words what it shows."""

from pmulab.figures.flow_chart import flow
from pmulab.figures.forest import forest
from pmulab.figures.luck import wandering
from pmulab.figures.outcomes import all_outcomes
from pmulab.figures.paired_values import pairs
from pmulab.figures.picture import Picture
from pmulab.figures.planning import what_n_could_show
from pmulab.figures.practice import line_over_time, share_by_month
from pmulab.figures.progress import running

__all__ = [
    "Picture",
    "all_outcomes",
    "flow",
    "forest",
    "line_over_time",
    "pairs",
    "running",
    "share_by_month",
    "wandering",
    "what_n_could_show",
]
