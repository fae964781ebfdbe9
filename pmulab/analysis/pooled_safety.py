"""Harm over several studies: added up for one question, told apart for every other study."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from pmulab.estimate.proportions import zero_events_upper_limit
from pmulab.findings import Earlier, Event, Safety
from pmulab.findings.pooled import HarmElsewhere, Reported


def added_up(packs: Sequence[Reported]) -> Safety:
    """Add up the adverse events of the studies of one question, unpooled ones too.

    Parameters
    ----------
    packs : sequence of Reported
        Of one question, so that way A is the same way in all of them.

    Returns
    -------
    Safety
    """
    parts = [pack.findings.safety for pack in packs]
    counts: Counter[Event] = Counter()
    for part in parts:
        for event in part.events:
            counts[replace(event, clients=0)] += event.clients
    events = [replace(event, clients=clients) for event, clients in counts.items()]
    signed = sum(
        part.treated if part.clients_signed is None else part.clients_signed for part in parts
    )
    healed = [part.clients_healed for part in parts]
    earlier = _earlier(parts)
    unseen = bool(signed) and not events and not earlier.recorded
    limit = zero_events_upper_limit(signed).interval if unseen else None
    return Safety(
        treated=sum(part.treated for part in parts),
        visits=sum(part.visits for part in parts),
        visits_signed=sum(part.visits_signed for part in parts),
        events=tuple(sorted(events, key=lambda e: (not e.serious, -e.clients, e.event, e.arm))),
        with_event=sum(part.with_event for part in parts),
        upper_limit=limit.high if limit else None,
        stop=" ".join(
            f"{pack.label}: {pack.findings.safety.stop}"
            for pack in packs
            if pack.findings.safety.stop
        ),
        clients_signed=signed,
        not_treated_with_event=sum(part.not_treated_with_event for part in parts),
        clients_healed=None if None in healed else sum(filter(None, healed)),
        earlier=earlier,
    )


def _earlier(parts: Sequence[Safety]) -> Earlier:
    counts = [part.earlier for part in parts]
    return Earlier(
        sum(one.gone for one in counts),
        sum(one.milder for one in counts),
        sum(one.corrected for one in counts),
    )


def told_apart_from(packs: Sequence[Reported], same: Sequence[Reported]) -> Iterator[HarmElsewhere]:
    """Keep the harm of every other study in sight, under its own name and ways.

    Parameters
    ----------
    packs : sequence of Reported
        All that could be read.
    same : sequence of Reported
        Those whose harm was added up; another pack of the same study is not told again.

    Yields
    ------
    HarmElsewhere
        Each study once, by the pack that tells of most harm; those without any harm are not told.
    """
    told = {pack.study for pack in same}
    for pack in sorted(packs, key=lambda one: -one.findings.safety.with_event):
        safety = pack.findings.safety
        if pack.study not in told and (safety.events or safety.stop or safety.earlier.recorded):
            told.add(pack.study)
            plan = pack.findings.plan
            yield HarmElsewhere(pack.label, plan.study.question, plan.arms, safety)
