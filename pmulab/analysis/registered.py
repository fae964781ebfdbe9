"""What became of the studies that were announced to the group."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from pmulab.findings.pooled import Registered, Reported

_GRACE = 60


def with_states(
    entries: Iterable[Registered], packs: Sequence[Reported], today: date
) -> tuple[Registered, ...]:
    """Say of each announced study whether it is in, running, or silent.

    Parameters
    ----------
    entries : iterable of Registered
    packs : sequence of Reported
        That came in.
    today : date

    Returns
    -------
    tuple of Registered
    """
    came = {pack.study: pack for pack in packs}
    return tuple(_with_state(entry, came.get(entry.study), today) for entry in entries)


def expected_by(today: date, planned: int, healed_days: int) -> date:
    """Give the day by which a study is expected in when nobody named one.

    Parameters
    ----------
    today : date
    planned : int
        Clients.
    healed_days : int
        Days until the last healed visit; 0 when nothing is judged healed.

    Returns
    -------
    date
        One client a week, the last healed visit, and two months for good measure.
    """
    return today + timedelta(days=7 * planned + healed_days + _GRACE)


def _with_state(entry: Registered, pack: Reported | None, today: date) -> Registered:
    if pack is not None:
        return replace(entry, state="stopped" if pack.stopped else "finished")
    overdue = (today - date.fromisoformat(entry.due)).days
    if entry.state == "stopped" or overdue <= 0:
        return entry
    return replace(entry, state="never reported", days_overdue=overdue)
