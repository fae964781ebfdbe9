"""Harm as one reading saw it, and what of it a later reading does not hold any more."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import pandas as pd

from pmulab.tables.once import once
from pmulab.tables.records import Records
from pmulab.tables.stop_rules import STOPS_AT_ONCE, UNREADABLE_KIND, happened

_GRADES = ("", "mild", "moderate", "severe")


@dataclass(frozen=True, slots=True)
class Harm:
    """One adverse event in short.

    Parameters
    ----------
    client_code : str
        '' where it cannot be read.
    event, severity : str
        Severity '' where it was not said.
    serious : bool
        Only as flagged, or for a kind that stops at once: what is filled in later never makes an
        event milder than it was.
    """

    client_code: str
    event: str
    severity: str
    serious: bool

    @property
    def grade(self) -> tuple[bool, int]:
        """How grave; the larger, the graver."""
        return self.serious, _GRADES.index(self.severity) if self.severity in _GRADES else 0

    @property
    def unread(self) -> bool:
        """Tell whether client or kind could not be read."""
        return not self.client_code or self.event == UNREADABLE_KIND

    def may_be(self, other: "Harm") -> bool:
        """Tell whether another reading may have seen the same event so."""
        return self.client_code in ("", other.client_code) and (
            self.event in (UNREADABLE_KIND, other.event)
        )

    def __str__(self) -> str:
        graded = [self.severity or "severity not said", *(["serious"] if self.serious else [])]
        return f"{self.event.replace('_', ' ')} ({', '.join(graded)})"


@dataclass(frozen=True, slots=True)
class Compared:
    """Earlier readings against this one.

    Parameters
    ----------
    known : tuple of Harm
        Everything that was ever seen, as grave as it ever was.
    gone : tuple of Harm
        Seen earlier, in no row now.
    milder : tuple of (Harm, Harm)
        As it was seen earlier, and as it reads now.
    """

    known: tuple[Harm, ...]
    gone: tuple[Harm, ...]
    milder: tuple[tuple[Harm, Harm], ...]


@once
def harm_of(records: Records) -> tuple[Harm, ...]:
    """Give every adverse event of the records in short.

    Parameters
    ----------
    records : Records

    Returns
    -------
    tuple of Harm
    """
    rows = happened(records.events)[["client_code", "event", "severity", "serious"]]
    return tuple(
        Harm(
            "" if pd.isna(code) else str(code),
            str(kind),
            "" if pd.isna(severity) else str(severity),
            kind in STOPS_AT_ONCE or (not pd.isna(flagged) and bool(flagged)),
        )
        for code, kind, severity, flagged in rows.itertuples(index=False, name=None)
    )


def compared(known: Iterable[Harm], now: Sequence[Harm]) -> Compared:
    """Find again what was seen earlier.

    Parameters
    ----------
    known : iterable of Harm
        What earlier readings saw.
    now : sequence of Harm
        What this one sees.

    Returns
    -------
    Compared
        An event that could not be read counts as found again in one that was not known yet.
    """
    left = sorted(now, key=lambda one: one.grade, reverse=True)
    kept: list[Harm] = []
    gone: list[Harm] = []
    milder: list[tuple[Harm, Harm]] = []
    gravest = sorted(known, key=lambda one: one.grade, reverse=True)
    for one in sorted(gravest, key=lambda one: one.unread):
        again = next((other for other in left if one.may_be(other)), None)
        if again is None:
            gone.append(one)
            continue
        left.remove(again)
        if again.grade < one.grade and not one.unread:
            milder.append((one, again))
            again = one
        kept.append(again)
    return Compared((*kept, *gone, *left), tuple(gone), tuple(milder))
