"""Whose photos may come into a scoring round, and whose are left out and why."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

import pandas as pd

from pmulab.analysis.values import withdrawn
from pmulab.scoring import Photo
from pmulab.stations.rounds import scored_photos
from pmulab.study import Study
from pmulab.tables import Records
from pmulab.tables.days import first_session

_NO_CONSENT = "no yes to sharing photos with the group (consent_share_photos)"


def left_out(
    study: Study, records: Records, photos: Sequence[Photo], again: bool
) -> tuple[list[Photo], list[str]]:
    """Part the photos that may be scored from those that may not.

    Parameters
    ----------
    study : Study
    records : Records
    photos : sequence of Photo
    again : bool
        Also take photos that were in an earlier round.

    Returns
    -------
    tuple of (list of Photo, list of str)
        Photos that may be scored, and one sentence for each reason.
    """
    earlier = frozenset() if again else frozenset(scored_photos(study))
    judge = _Judge(study, records, earlier)
    reasons: dict[str, list[str]] = defaultdict(list)
    taken = []
    for photo in photos:
        why = next(judge.obstacles(photo), "")
        if why:
            reasons[why].append(f"{photo.client_code} {photo.side} visit {photo.visit_no}")
        else:
            taken.append(photo)
    return taken, [
        f"Left out, {why}: {', '.join(dict.fromkeys(names))}." for why, names in reasons.items()
    ]


class _Judge:
    """Looks up what the records say of one photo after another."""

    def __init__(
        self, study: Study, records: Records, earlier: frozenset[tuple[str, str, int]]
    ) -> None:
        clients = records.clients
        agreed = clients["consent_share_photos"].fillna(False).astype(bool)
        self._agreed = set(clients.loc[agreed, "client_code"].astype(str))
        self._gone = withdrawn(records)
        self._carded = {one.client_code for one in study.assignments()}
        self._worked = first_session(records)
        again = records.sessions[records.sessions["session_no"] > 1]
        self._again = again.groupby(["client_code", "side"])["session_date"].min()
        self._earliest = study.plan().healed.earliest
        self._earlier = earlier

    def obstacles(self, photo: Photo) -> Iterator[str]:
        """Say why a photo cannot be scored, the weightiest first."""
        code, eyelid = photo.client_code, (photo.client_code, photo.side)
        if code not in self._carded:
            yield "no card was opened for this client in this study"
        if code in self._gone:
            yield "she took back her consent"
        if code not in self._agreed:
            yield _NO_CONSENT
        if photo.key in self._earlier:
            yield "in an earlier round already (to score them again: --again)"
        if eyelid not in self._worked.index:
            yield "no session of this eyelid is recorded yet"
            return
        if photo.day:
            yield from self._when(photo, eyelid)

    def _when(self, photo: Photo, eyelid: tuple[str, str]) -> Iterator[str]:
        day = pd.Timestamp(photo.day)
        days = (day - self._worked[eyelid]).days
        if days < self._earliest:
            yield f"taken before day {self._earliest}, so not healed"
        if eyelid in self._again.index and day >= self._again[eyelid]:
            yield "taken after a touch-up"
