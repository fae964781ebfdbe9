"""Findings as pages for other people: a handout, with its reporting items."""

from pmulab.sharing.agreement_items import agreement_items
from pmulab.sharing.further_items import checklists
from pmulab.sharing.handout import handout_html
from pmulab.sharing.item import Item
from pmulab.sharing.reporting import items

__all__ = ["Item", "agreement_items", "checklists", "handout_html", "items"]
