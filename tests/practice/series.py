"""Rows of consecutive clients, put together by hand; invented."""

from datetime import date, timedelta

import pandas as pd

from pmulab.tables import practice_tables
from pmulab.tables.kinds import typed

FIELDS = practice_tables()["practice"].fields


def series(minutes, *, changes=None, kept=None, needed=None, every=5, harmed=(), **more):
    """Give typed rows: one client each so many days; `changes` maps client numbers to words."""
    rows = []
    for place, value in enumerate(minutes):
        number = place + 1
        rows.append(
            {
                "client_no": str(number),
                "session_date": (date(2026, 1, 5) + timedelta(days=every * place)).isoformat(),
                "lid": "upper",
                "adverse_event": "yes" if number in harmed else "no",
                "work_min": pd.NA if value is None else f"{value:g}",
                "segments_kept": f"{kept[place]:g}" if kept else "8",
                "touchup_needed": needed[place] if needed else "no",
                "change_note": (changes or {}).get(number, pd.NA),
                "invented": "yes",
                **{name: values[place] for name, values in more.items()},
            }
        )
    frame = pd.DataFrame(rows, columns=[one.name for one in FIELDS], dtype=object)
    return pd.DataFrame({one.name: typed(one, frame[one.name]) for one in FIELDS})
