"""What earlier readings of the records saw, so that no harm and no worked client vanishes unseen.

Whatever reads the records of a study writes into its journal what harm and whom worked it saw, each
once. Only an amendment with its reason lets the journal forget what stands in the records no more.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pmulab.counting import counted
from pmulab.entries import AMENDED, READ
from pmulab.stations.reviews import REVIEWED, last_heard, reviewed_events
from pmulab.study import Entry, Study
from pmulab.tables import Records
from pmulab.tables.harm_seen import Harm, compared, harm_of
from pmulab.tables.stop_rules import PAUSES_AT_ONCE
from pmulab.tables.worked import worked


@dataclass(frozen=True, slots=True)
class Memory:
    """What the journal knows of earlier readings.

    Parameters
    ----------
    harm : mapping of client code to tuple of Harm
    read : mapping of client code to str
        Day of the reading that told last of her harm.
    worked : mapping of client code to str
        Day on which she was first seen worked on.
    missing : tuple of str
        Of that harm, what the last reading did not find again, one sentence each.
    """

    harm: Mapping[str, tuple[Harm, ...]] = field(default_factory=dict)
    read: Mapping[str, str] = field(default_factory=dict)
    worked: Mapping[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()

    @property
    def known(self) -> tuple[Harm, ...]:
        """All harm that was ever seen and not corrected since."""
        return tuple(one for own in self.harm.values() for one in own)


@dataclass(frozen=True, slots=True)
class Lost:
    """What earlier readings saw and the records do not hold any more, unexplained.

    Parameters
    ----------
    gone : tuple of Harm
    milder : tuple of (Harm, Harm)
    unworked : tuple of str
        Clients who were seen worked on and are not now.
    days : mapping of client code to str
        When harm was read last.
    """

    gone: tuple[Harm, ...]
    milder: tuple[tuple[Harm, Harm], ...]
    unworked: tuple[str, ...]
    days: Mapping[str, str]

    def __bool__(self) -> bool:
        return bool(self.gone or self.milder or self.unworked)

    def told(self, *, coded: bool = False) -> Iterator[str]:
        """Say it; what is handed on holds neither a client's code nor a date."""
        yield from self.harm_told(coded=coded)
        if self.unworked:
            named = f" ({', '.join(self.unworked)})" if coded else ""
            yield (
                f"{counted(len(self.unworked), 'client')}{named} stood in the sessions as worked "
                "on earlier and not now. No correction explains it."
            )

    def harm_told(self, *, coded: bool) -> Iterator[str]:
        """Say what became of the harm alone."""
        for one in self.gone:
            yield (
                "An earlier recorded event is no longer in the records: "
                f"{self._named(one, coded)}. No correction explains it."
            )
        for one, now in self.milder:
            yield (
                f"An earlier recorded event reads milder now: {self._named(one, coded)} is {now} "
                "now. No correction explains it."
            )

    def _named(self, one: Harm, coded: bool) -> str:
        if not coded:
            return str(one)
        whose = f" of {one.client_code}" if one.client_code else ""
        return f"{one}{whose} (read on {self.days[one.client_code]})"


def remembered(entries: Sequence[Entry]) -> Memory:
    """Read from the journal what earlier readings saw.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    Memory
        Empty for a journal of an earlier release.
    """
    harm: dict[str, tuple[Harm, ...]] = {}
    read: dict[str, str] = {}
    seen: dict[str, str] = {}
    missing: tuple[str, ...] = ()
    for entry in entries:
        if entry.event not in (READ, AMENDED):
            continue
        day = entry.time[:10]
        for code, rows in dict(entry.detail.get("harm", {})).items():
            harm[code], read[code] = _harm(code, rows), day
        for code in entry.detail.get("worked", ()):
            seen.setdefault(code, day)
        for code in entry.detail.get("not_worked", ()):
            seen.pop(code, None)
        missing = tuple(map(str, entry.detail.get("missing", missing)))
    return Memory(harm, read, seen, missing)


def waiting(entries: Sequence[Entry], records: Records | None = None) -> tuple[Harm, ...]:
    """Give the harm that stops a study at once and that no review has followed.

    Parameters
    ----------
    entries : sequence of Entry
    records : Records, optional
        What is read now and may not stand in the journal yet.

    Returns
    -------
    tuple of Harm
        As far as earlier readings of the records saw it, and this one.
    """
    last = max((at for at, one in enumerate(entries) if one.event == REVIEWED), default=-1)
    before = Counter(remembered(entries[: last + 1]).known)
    now = remembered(entries).known
    if records is not None:
        now = compared(now, harm_of(records)).known
    since = (Counter(now) - before).elements()
    return tuple(one for one in since if one.serious or one.event in PAUSES_AT_ONCE)


def lost(study: Study, records: Records) -> Lost:
    """Say what earlier readings saw and these records do not hold any more.

    Parameters
    ----------
    study : Study
    records : Records

    Returns
    -------
    Lost
    """
    memory = remembered(study.journal())
    found = compared(memory.known, harm_of(records))
    now = _worked(study, records)
    unworked = tuple(code for code in memory.worked if code not in now)
    return Lost(found.gone, found.milder, unworked, memory.read)


def remember(study: Study, records: Records) -> bool:
    """Write into the journal what this reading saw for the first time; call it while `writing`.

    Parameters
    ----------
    study : Study
        One whose plan is not locked yet has nothing to remember.
    records : Records

    Returns
    -------
    bool
        Whether it saw anything of harm that the journal did not know.
    """
    if study.locked() is None:
        return False
    memory = remembered(study.journal())
    grown = _by_client(compared(memory.known, harm_of(records)).known)
    news = {
        code: _plain(grown.get(code, ()))
        for code in sorted({*grown, *memory.harm})
        if sorted(_plain(grown.get(code, ()))) != sorted(_plain(memory.harm.get(code, ())))
    }
    fresh = [code for code in sorted(_worked(study, records)) if code not in memory.worked]
    missing = tuple(lost(study, records).harm_told(coded=True))
    changed: dict[str, Any] = {"missing": list(missing)} if missing != memory.missing else {}
    heard = last_heard(study.journal())
    if heard and heard != (events := reviewed_events(records)):
        changed["events"] = events
    if news or fresh or changed:
        study.record(READ, harm=news, worked=fresh, **changed)
    return bool(news or changed)


def forgotten(study: Study, records: Records) -> dict[str, Any]:
    """Give what an amendment has to hold so that the journal forgets what was corrected.

    Parameters
    ----------
    study : Study
    records : Records

    Returns
    -------
    dict
        Empty when nothing was lost. Of a table that is not there nothing is forgotten.
    """
    found = lost(study, records)
    told: dict[str, Any] = {}
    if "events" in records.sources and (found.gone or found.milder):
        earlier = [*found.gone, *(one for one, _ in found.milder)]
        now = _by_client(harm_of(records))
        told["harm"] = {one.client_code: _plain(now.get(one.client_code, ())) for one in earlier}
        told["gone"] = [str(one) for one in found.gone]
        told["milder"] = [f"{one} to {new}" for one, new in found.milder]
    if "sessions" in records.sources and found.unworked:
        told["not_worked"] = list(found.unworked)
    return told


def _worked(study: Study, records: Records) -> set[str]:
    enrolled = {one.client_code for one in study.assignments()}
    return enrolled & set(records.sessions.loc[worked(records), "client_code"].dropna().astype(str))


def _by_client(harm: Iterable[Harm]) -> dict[str, tuple[Harm, ...]]:
    found: dict[str, list[Harm]] = defaultdict(list)
    for one in harm:
        found[one.client_code].append(one)
    return {code: tuple(own) for code, own in found.items()}


def _plain(harm: Iterable[Harm]) -> list[list[Any]]:
    return [[one.event, one.severity, one.serious] for one in harm]


def _harm(code: str, rows: Any) -> tuple[Harm, ...]:
    """Read the harm of a client; what a changed journal spoiled is told where it is judged."""
    whole = (row for row in rows if isinstance(row, list) and len(row) == 3)
    return tuple(Harm(code, str(kind), str(grade), bool(flag)) for kind, grade, flag in whole)
