"""Harm is counted first and never lost, whatever is misspelt, left out or told late.

The stop rule is this kit's own (any serious event stops all; two of a kind in one arm pause),
drawn from common practice, no source. What is checked here: the running view, the analysis and the
check of the records read one rule. Upper limits: Hanley & Lippman-Hand (1983), JAMA 249:1743-1745.
"""

from dataclasses import replace

import pandas as pd
import pytest
from studies import SESSION, plan_text

from pmulab.allocation import Assignment, Slot
from pmulab.analysis.safety import masked, safety
from pmulab.plan import read_plan
from pmulab.tables import Allotted, Expectations, records_from_frames
from pmulab.tables.rules import RULES
from pmulab.wording import safety_lines

TABLES = read_plan(plan_text()).tables()
CARDS = [  # arm A lies on the left of the first two, on the right of the others
    Assignment(f"C10{number}", Slot(number, 1, 4, left=left, first="L"), "2026-01-05T08:00:00Z")
    for number, left in enumerate("AABB", start=1)
]
PARALLEL = [
    Assignment(f"C10{number}", Slot(number, 1, 4, arm=arm), "2026-01-05T08:00:00Z")
    for number, arm in enumerate("AABB", start=1)
]
BLANKS = ("arm_actual", "wipe_material", "soothing_step", "own_value", "passes")
NOT_WORKED = dict.fromkeys(BLANKS, "NA_not_done")


def session(card, side, **given):
    arm = card.slot.arm_of(side)
    key = {"client_code": card.client_code, "side": side, "arm_planned": arm, "arm_actual": arm}
    return SESSION | key | {"order": "1", "own_value": "5"} | given


def signed(code, number="1"):
    return {
        "client_code": code, "session_no": number, "side": "general", "event": "none_seen",
        "signed_by": "P1",
    }  # fmt: skip


def event(code, kind="eye_irritation", severity="moderate", side="L", **given):
    return {
        "client_code": code, "session_no": "1", "side": side, "onset_date": "2026-01-06",
        "event": kind, "severity": severity, "serious": "no", "related": "possible",
        "referred_to": "none", "outcome": "resolved", "series_action": "paused",
        "signed_by": "P1",
    } | given  # fmt: skip


def recorded(events=(), sessions=None, cards=CARDS):
    """Records of four clients, both eyelids worked; who has no event has a signed 'none seen'."""
    if sessions is None:
        sessions = [session(card, side) for card in cards for side in "LR"]
    told = {row["client_code"] for row in events}
    rows = [signed(card.client_code) for card in cards if card.client_code not in told]
    frames = {"sessions": sessions, "events": [*rows, *events]}
    return records_from_frames(
        {name: pd.DataFrame(own, dtype=object) for name, own in frames.items()}, TABLES
    )


def checked(records, cards=CARDS):
    cards = {
        one.client_code: Allotted(one.slot.left, one.slot.first, one.slot.arm) for one in cards
    }
    expected = Expectations(allocation=cards, tables=TABLES)
    return {problem.code for rule in RULES for problem in rule(records, expected)}


def pauses(records, cards=CARDS):
    """What stops in the running view has to stop in the check, and the other way round."""
    stop = safety(cards, records).stop
    assert bool(stop) == ("stop_rule_reached" in checked(records, cards))
    return bool(stop)


def said(records, cards=CARDS):
    return list(safety_lines(masked(safety(cards, records))))


def test_an_event_that_cannot_be_read_is_kept_and_pauses():
    """A misspelt kind is read as missing; it may be the worst that happened."""
    misspelt = event("C101", pd.NA, "severe", "R", serious="yes")
    found = safety(CARDS, recorded([misspelt]))

    assert [(one.event, one.serious, one.clients) for one in found.events] == [
        ("unreadable", True, 1)
    ]
    assert found.stop
    assert found.with_event == 1


def test_a_kind_that_cannot_be_read_pauses_even_when_noted_as_harmless():
    found = safety(CARDS, recorded([event("C101", pd.NA, "mild")]))

    assert "cannot be read" in found.stop


@pytest.mark.parametrize("side", ["general", "both", pd.NA])
def test_an_event_without_a_side_is_of_the_whole_person(side):
    (one,) = safety(CARDS, recorded([event("C101", side=side)])).events

    assert one.arm == ("both" if isinstance(side, str) and side == "both" else "general")


@pytest.mark.parametrize(
    ("kind", "severity"),
    [
        ("corneal_injury", "moderate"), ("vision_change", "mild"), ("severe_pain", "mild"),
        ("anaphylaxis", "mild"), ("seizure", "mild"),
    ],
)  # fmt: skip
def test_kinds_that_stop_at_once_are_serious_whatever_the_flag_says(kind, severity):
    records = recorded([event("C101", kind, severity)])
    found = safety(CARDS, records)

    assert found.events[0].serious
    assert "serious" in found.stop
    assert "serious_flag_contradicts" in checked(records)


def test_a_single_infection_pauses_the_series():
    assert pauses(recorded([event("C101", "infection")]))


def test_a_mild_bruise_neither_stops_nor_is_pointed_out():
    records = recorded([event("C101", "bruise", "mild")])

    assert not pauses(records)
    assert "serious_flag_contradicts" not in checked(records)


@pytest.mark.parametrize(
    ("one", "other", "stops"),
    [
        ({"side": "L"}, {"side": "L"}, True),
        ({"side": "L"}, {"side": "R"}, False),  # arm A, then arm B
        ({"side": "both"}, {"side": "L"}, True),
        ({"side": "both"}, {"side": "R"}, True),
        ({"side": "general"}, {"side": "general"}, True),
        ({"side": "both"}, {"side": "general"}, True),
        ({"side": pd.NA}, {"side": "L"}, True),
        ({"severity": "NA_not_done"}, {"severity": "NA_not_done"}, True),
        ({"severity": "mild"}, {"severity": "NA_not_done"}, False),
        ({"severity": "mild"}, {"severity": "mild"}, False),
        ({"severity": "severe"}, {"severity": "moderate"}, True),
        ({"kind": "bruise"}, {"kind": "scar"}, False),
        ({"kind": "pigment_migration", "severity": "mild"},) * 2 + (True,),
    ],
)
def test_two_of_a_kind_in_one_arm_pause(one, other, stops):
    """Both and general count for each arm; a missing severity counts as moderate."""
    assert pauses(recorded([event("C101", **one), event("C102", **other)])) is stops


def test_the_stop_rule_counts_the_arm_that_was_given():
    """C102 was to have arm A on the left and had it on the right."""
    told = {"deviation": "wrong_arm"}
    sessions = [session(card, side) for card in CARDS for side in "LR" if card is not CARDS[1]]
    sessions += [
        session(CARDS[1], "L", arm_actual="B", **told),
        session(CARDS[1], "R", arm_actual="A", **told),
    ]
    left = event("C101", side="L")

    assert not pauses(recorded([left, event("C102", side="L")], sessions))
    assert pauses(recorded([left, event("C102", side="R")], sessions))


def test_one_event_on_two_eyelids_of_one_arm_is_told_once():
    """Between clients both eyelids have the same arm: one visit is one event."""
    both = [event("C101", side="L"), event("C101", side="R")]

    assert not pauses(recorded(both, cards=PARALLEL), PARALLEL)
    assert pauses(recorded([*both, event("C102", side="L")], cards=PARALLEL), PARALLEL)
    assert not pauses(recorded([*both, event("C103", side="L")], cards=PARALLEL), PARALLEL)


def test_events_without_cards_or_arms_count_for_each_arm():
    """Before any card is known, an event may belong to either arm."""
    records = recorded([event("C101", side="L"), event("C102", side="R")], sessions=[])

    assert pauses(records, [])


def test_the_stop_sentence_names_no_arm():
    found = safety(CARDS, recorded([event("C101"), event("C102")]))

    assert found.stop
    assert " A" not in found.stop
    assert " B" not in found.stop


def test_the_running_view_counts_a_client_once():
    """One client, one kind, on the left at her first and on the right at her second session."""
    again = [session(CARDS[0], side, session_no="2") for side in "LR"]
    sessions = [session(card, side) for card in CARDS for side in "LR"] + again
    events = [
        event("C101", severity="mild", side="L"),
        event("C101", severity="mild", side="R", session_no="2"),
    ]
    found = safety(CARDS, recorded(events, sessions))

    assert [(one.arm, one.clients) for one in found.events] == [("A", 1), ("B", 1)]
    assert [(one.arm, one.clients) for one in masked(found).events] == [("hidden", 1)]
    assert said(recorded(events, sessions))[-2:] == [
        "1 of 4 clients had an adverse event:",
        "Eye irritation (mild): 1 client.",
    ]


def test_none_of_four_signed_clients():
    """1 - 0.05 ** (1 / 4) = 0.527."""
    assert said(recorded()) == [
        "Looked for harm: on the day, signed for 4 of 4 clients; when healed, 0 of 4 seen "
        "(nothing is signed then). Of 4 clients late harm is not known.",
        "No adverse event was seen in 4 clients; a true rate up to 53 % would still fit that.",
    ]


def test_the_upper_limit_counts_only_clients_whose_visits_are_all_signed():
    """Three of four signed: 1 - 0.05 ** (1 / 3) = 0.632."""
    records = recorded()
    records = replace(records, events=records.events[1:])
    found = safety(CARDS, records)

    assert (found.treated, found.clients_signed) == (4, 3)
    assert found.upper_limit == pytest.approx(0.6316, abs=1e-4)
    assert said(records) == [
        "1 of 4 visits: neither an event nor a signed 'none seen'.",
        "Looked for harm: on the day, signed for 3 of 4 clients; when healed, 0 of 4 seen "
        "(nothing is signed then). Of 4 clients late harm is not known.",
        "No adverse event was seen in the 3 of 4 clients whose visits are all signed; a true rate "
        "up to 63 % would still fit that. Of the others nothing is known.",
    ]


def test_nothing_signed_gives_no_limit():
    records = recorded()
    records = replace(records, events=records.events[:0])

    assert safety(CARDS, records).upper_limit is None
    assert "%" not in " ".join(said(records))
    assert said(records)[0].startswith("4 of 4 visits")


def test_none_seen_without_a_signature_is_not_signed():
    records = recorded([{**signed("C101"), "signed_by": "NA_not_done"}])

    assert safety(CARDS, records).visits_signed == 3


def test_a_session_of_reasons_only_is_no_work():
    """Somebody who did not come has rows of reasons; nobody worked on her."""
    sessions = [session(card, side) for card in CARDS[:3] for side in "LR"]
    sessions += [session(CARDS[3], side, **NOT_WORKED) for side in "LR"]
    found = safety(CARDS, recorded(sessions=sessions))

    assert (found.treated, found.visits, found.visits_signed) == (3, 3, 3)


@pytest.mark.parametrize("given", [{"arm_actual": "A"}, {"work_min": "12"}, {"own_value": "3"}])
def test_an_arm_or_a_value_shows_work(given):
    sessions = [session(CARDS[0], "L", **(NOT_WORKED | given))]

    assert safety(CARDS, recorded(sessions=sessions)).treated == 1


def test_a_client_without_a_card_is_not_counted_as_treated():
    assert safety(CARDS[:3], recorded()).treated == 3


def test_events_are_told_even_if_nobody_counts_as_worked_on():
    lines = said(recorded([event("C101", "infection")], sessions=[]))

    assert lines[-2:] == [
        "Nobody counts as worked on yet, but 1 client had an adverse event:",
        "Infection (moderate): 1 client.",
    ]


def test_an_event_of_somebody_without_a_card_is_told_apart():
    lines = said(recorded([event("C101", "bruise", "mild"), event("C999", "bruise", "mild")]))

    assert lines[-2:] == [
        "1 of 4 clients had an adverse event, and 1 without a card or a worked session:",
        "Bruise (mild): 2 clients.",
    ]


def test_an_event_of_an_unreadable_client_is_told():
    records = recorded([event(pd.NA, "infection")])

    assert safety(CARDS, records).with_event == 1
    assert safety(CARDS, records).events[0].clients == 1
