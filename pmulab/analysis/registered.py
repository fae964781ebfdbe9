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


def by_question(
    entries: Iterable[Registered], same: Sequence[Reported], packs: Sequence[Reported]
) -> tuple[tuple[Registered, ...], list[str]]:
    """Part the announced studies into those of the question that is put together and the rest.

    Parameters
    ----------
    entries : iterable of Registered
    same : sequence of Reported
        Packs of the question.
    packs : sequence of Reported
        All that were looked at.

    Returns
    -------
    tuple of (tuple of Registered, list of str)
        All entries, the others marked; and what a reader should know of them. Of a study whose
        pack came in the pack decides; otherwise the question and the main measure as announced.
    """
    entries = tuple(entries)
    of_it, came = {pack.study for pack in same}, {pack.study for pack in packs}
    plans = [pack.findings.plan for pack in same]
    asked = {_words(plan.study.question, plan.primary.unit) for plan in plans}
    asked |= {_words(one.question, one.unit) for one in entries if one.study in of_it}
    measures = {_words(plan.primary.title, plan.primary.unit) for plan in plans}
    marked, flags = [], []
    for entry in entries:
        known = _words(entry.question, entry.unit) in asked
        own = entry.study in of_it if entry.study in came else known
        marked.append(replace(entry, other_question=not own))
        unread = not own and entry.study not in came
        if unread and _words(entry.primary, entry.unit) in measures:
            flags.append(
                f"{entry.code} was announced with the same main measure in other words "
                f"({entry.question}), so it counts as another question: ask whether it is."
            )
    return tuple(marked), flags


def _words(*texts: str) -> tuple[str, ...]:
    return tuple(" ".join(text.casefold().split()).rstrip("?.! ") for text in texts)


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
