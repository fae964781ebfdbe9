"""Findings as pages for other people: a handout, with its reporting items."""

from pmulab.sharing.further_items import checklists
from pmulab.sharing.handout import handout_html
from pmulab.sharing.reporting import Item, items

__all__ = ["Item", "checklists", "handout_html", "items"]
