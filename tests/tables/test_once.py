"""What follows from the same records is worked out once, and never told of others."""

import gc
import weakref

import pandas as pd

from pmulab.stations.check import records_of
from pmulab.study import Study
from pmulab.tables.once import once


def test_the_same_records_are_asked_once_and_others_anew(made_demo):
    asked = []

    @once
    def clients(records, least=0):
        asked.append(least)
        return len(records.clients) + least

    records = records_of(Study(made_demo))[0]
    others = records.copy()

    assert clients(records) == clients(records) == len(records.clients)
    assert clients(records, 2) == clients(records, 2) == clients(records) + 2
    assert clients(others, least=2) == clients(records, 2)
    assert asked == [0, 2, 2]


def test_nothing_outlives_its_records(made_demo):
    @once
    def rows(records):
        return records.clients.copy()

    records = records_of(Study(made_demo))[0].copy()
    kept = weakref.ref(rows(records))
    assert isinstance(kept(), pd.DataFrame)
    del records
    gc.collect()
    assert kept() is None
