"""Rules between tables: each spoils one thing of the clean invented study.

The rules themselves are the study's own (a card says arm and order; healed means day 28 on);
carbon pigment with visible capillaries: common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pandas as pd
import pytest
from tables.invented_study import CARDS, EXPECTED, TABLES, Study

from pmulab.tables import Allotted, records_from_frames
from pmulab.tables.rules import RULES

B, L = "blocks analysis", "look at this"
SWAP = {"A": "B", "B": "A"}


def problems_of(study, expectations=EXPECTED):
    frames = {
        name: pd.DataFrame(rows[1:], columns=rows[0], dtype=object)
        for name, rows in study.rows.items()
    }
    records = records_from_frames(frames, TABLES)
    return [problem for rule in RULES for problem in rule(records, expectations)]


def found(study, expectations=EXPECTED):
    return sorted(
        (p.code, p.severity, p.file, p.row, p.column) for p in problems_of(study, expectations)
    )


def arms(study, row, arm, **more):
    return study.put("sessions", row, arm_planned=arm, arm_actual=arm, **more)


def late_session(study, row, day="2026-04-01", **more):
    """Add a second session copied from a first one, with its signed event row."""
    code = study.rows["sessions"][row - 1][0]
    study.rows["sessions"].append(study.rows["sessions"][row - 1].copy())
    at = len(study.rows["sessions"])
    study.put("sessions", at, session_no="2", session_date=day, **more)
    study.rows["events"].append(study.rows["events"][1].copy())
    study.put("events", len(study.rows["events"]), client_code=code, session_no="2")
    return at


def test_clean_study_breaks_no_rule():
    """The invented study is clean."""
    assert found(Study()) == []


def test_clean_study_without_known_cards_breaks_no_rule():
    """Without an allocation the planned arm stands for the card."""
    assert found(Study(), replace(EXPECTED, allocation=None, lid=None)) == []


def test_empty_tables_break_no_rule():
    """Rules hold on tables without rows."""
    study = Study()
    study.rows = {name: rows[:1] for name, rows in study.rows.items()}

    assert found(study) == []


ONE_CHANGE = {
    "client unknown": (
        lambda s: s.rows["clients"].pop(1),
        [("client_unknown", B, t, 2, "client_code") for t in ("events", "healed", "sessions")],
    ),
    "wrong lid": (
        lambda s: s.put("sessions", 3, lid="lower"),
        [("wrong_lid", B, "sessions", 3, "lid")],
    ),
    "elapsed below work": (
        lambda s: s.put("sessions", 4, elapsed_min="10"),
        [("elapsed_below_work", B, "sessions", 4, "elapsed_min")],
    ),
    "opening grew": (
        lambda s: s.put("sessions", 4, aperture_before_mm="5", aperture_after_mm="8"),
        [("opening_grew", L, "sessions", 4, "aperture_after_mm")],
    ),
    "no consent": (
        lambda s: s.put("clients", 2, consent_record="no", consent_record_date="NA_not_applicable"),
        [("consent_missing", B, "sessions", 2, "client_code")],
    ),
    "consent after session": (
        lambda s: s.put("clients", 2, consent_record_date="2026-03-04"),
        [("consent_after_session", L, "sessions", 2, "session_date")],
    ),
    "consent withdrawn afterwards": (
        lambda s: s.put("clients", 2, consent_withdrawn="2026-05-01"),
        [("consent_withdrawn", L, "clients", 2, "consent_withdrawn")],
    ),
    "consent withdrawn before the healed visit": (
        lambda s: s.put("clients", 2, consent_withdrawn="2026-04-01"),
        [
            ("consent_withdrawn", L, "clients", 2, "consent_withdrawn"),
            ("recorded_after_withdrawal", B, "healed", 2, "healed_date"),
            ("recorded_after_withdrawal", B, "healed", 3, "healed_date"),
        ],
    ),
    "excluded client": (
        lambda s: s.put("clients", 2, eligible="no", eligible_reason="medicine"),
        [("excluded_client_worked", B, "sessions", 2, "client_code")],
    ),
    "old pigment": (
        lambda s: s.put("clients", 2, old_pigment="yes", anticoagulant="unsure"),
        [("eligible_despite_finding", L, "clients", 2, "eligible")],
    ),
    "reason contradicts": (
        lambda s: s.put("clients", 2, eligible_reason="allergy"),
        [("reason_contradicts", L, "clients", 2, "eligible_reason")],
    ),
    "carbon with capillaries": (
        lambda s: s.put("clients", 2, lid_capillaries="faint").put(
            "sessions", 3, pigment_family="carbon"
        ),
        [("carbon_with_capillaries", L, "sessions", 3, "pigment_family")],
    ),
    "visit without event row": (
        lambda s: s.rows["events"].pop(1),
        [("visit_without_event_row", B, "sessions", 2, "session_no")],
    ),
    "event without session": (
        lambda s: s.put("events", 2, session_no="3"),
        [
            ("event_without_session", B, "events", 2, "session_no"),
            ("visit_without_event_row", B, "sessions", 2, "session_no"),
        ],
    ),
    "event before session": (
        lambda s: s.put("events", 3, onset_date="2026-03-01"),
        [("event_before_session", L, "events", 3, "onset_date")],
    ),
    "serious without action": (
        lambda s: s.put("events", 3, serious="yes", severity="severe"),
        [
            ("serious_without_action", B, "events", 3, "series_action"),
            ("serious_without_referral", L, "events", 3, "referred_to"),
        ],
    ),
    "serious kind noted as not serious": (
        lambda s: s.put("events", 3, event="corneal_injury", series_action="stopped",
                        referred_to="eye_doctor", referred_date="2026-03-04"),
        [("serious_flag_contradicts", L, "events", 3, "serious")],
    ),
    "serious kind noted as not serious, and the study went on": (
        lambda s: s.put("events", 3, event="vision_change"),
        [
            ("serious_flag_contradicts", L, "events", 3, "serious"),
            ("serious_without_action", B, "events", 3, "series_action"),
            ("serious_without_referral", L, "events", 3, "referred_to"),
        ],
    ),
    "infection": (
        lambda s: s.put("events", 3, event="infection", series_action="paused"),
        [("stop_rule_reached", L, "events", 3, "event")],
    ),
    "health question not answered": (
        lambda s: s.put("clients", 2, pregnant_or_nursing="NA_refused"),
        [("eligible_despite_finding", L, "clients", 2, "eligible")],
    ),
    "healed without session": (
        lambda s: s.put("healed", 8, client_code="C979").put("healed", 9, client_code="C979"),
        [
            ("healed_without_session", B, "healed", 8, "side"),
            ("healed_without_session", B, "healed", 9, "side"),
        ],
    ),
    "healed before the session": (
        lambda s: s.put("healed", 2, healed_date="2026-02-20"),
        [("healed_before_session", B, "healed", 2, "healed_date")],
    ),
    "day 27 is too early": (
        lambda s: s.put("healed", 2, healed_date="2026-03-29"),
        [("judged_too_early", L, "healed", 2, "healed_date")],
    ),
    "day 28 is not": (lambda s: s.put("healed", 2, healed_date="2026-03-30"), []),
    "day 70 is not late": (lambda s: s.put("healed", 2, healed_date="2026-05-11"), []),
    "day 71 is late": (
        lambda s: s.put("healed", 2, healed_date="2026-05-12"),
        [("judged_late", L, "healed", 2, "healed_date")],
    ),
    "touch-up before judging": (
        lambda s: late_session(s, 2),
        [("touched_up_before_judging", B, "healed", 2, "seen")],
    ),
    "touch-up told": (
        lambda s: late_session(s, 2) and s.put("healed", 2, seen="touched_up_before"),
        [],
    ),
    "touch-up with the other arm": (
        lambda s: late_session(s, 2, day="2026-06-01", arm_actual="B"),
        [("two_arms_on_one_eyelid", B, "sessions", 10, "arm_actual")],
    ),
    "second session before the first": (
        lambda s: late_session(s, 2, day="2026-03-01"),
        [
            ("sessions_out_of_order", B, "sessions", 10, "session_date"),
            ("touched_up_before_judging", B, "healed", 2, "seen"),
        ],
    ),
    "one session on two dates": (
        lambda s: s.put("sessions", 3, session_date="2026-03-03"),
        [("one_session_two_dates", L, "sessions", 3, "session_date")],
    ),
    "operator judged without a coded photo": (
        lambda s: s.put("healed", 2, rater_is_operator="yes", photo_code="NA_not_done"),
        [("assessor_knows_arm", B, "healed", 2, "blinded")],
    ),
    "operator judged coded photos": (lambda s: s.put("healed", 2, rater_is_operator="yes"), []),
    "guess not asked": (
        lambda s: s.put("healed", 2, guess_arm="NA_not_done"),
        [("guess_missing", L, "healed", 2, "guess_arm")],
    ),
    "operator's code as another assessor": (
        lambda s: s.put("healed", 2, rater_code="OP1"),
        [("assessor_is_operator", L, "healed", 2, "rater_is_operator")],
    ),
    "photo code tells the arm": (
        lambda s: s.put("healed", 2, photo_code="P7-damp_nonwoven"),
        [("arm_in_photo_code", L, "healed", 2, "photo_code")],
    ),
    "lost but scored": (
        lambda s: s.put("healed", 8, segments_kept="7"),
        [("scored_but_not_seen", B, "healed", 8, "seen")],
    ),
    "scored from a refused photo": (
        lambda s: s.put("healed", 2, seen="photo_only", photo_quality="blurred"),
        [("scored_from_refused_photo", L, "healed", 2, "photo_quality")],
    ),
    "touch-up minutes without need": (
        lambda s: s.put("healed", 2, touchup_min="5"),
        [("touchup_contradicts", L, "healed", 2, "touchup_min")],
    ),
    "two preferred sides": (
        lambda s: s.put("healed", 2, preference="left_better"),
        [("preference_contradicts", L, "healed", 3, "preference")],
    ),
    "mirrored sides": (
        lambda s: arms(arms(s, 2, "B"), 3, "A"),
        [("mirrored_sides", B, "sessions", 2, "side")],
    ),
    "mirrored sides, and so the order": (
        lambda s: arms(arms(s, 2, "B", order="2"), 3, "A", order="1"),
        [("mirrored_sides", B, "sessions", 2, "side")],
    ),
    "one planned arm miscopied": (
        lambda s: s.put("sessions", 2, arm_planned="B"),
        [("planned_arm_differs", B, "sessions", 2, "arm_planned")],
    ),
    "card not followed, not told": (
        lambda s: s.put("sessions", 2, arm_actual="B"),
        [("allocation_not_followed", B, "sessions", 2, "arm_actual")],
    ),
    "card not followed, told": (
        lambda s: s.put("sessions", 2, arm_actual="B", deviation="wrong_arm"),
        [],
    ),
    "wrong arm told but not done": (
        lambda s: s.put("sessions", 2, deviation="wrong_arm"),
        [("deviation_without_difference", L, "sessions", 2, "deviation")],
    ),
    "order not followed, not told": (
        lambda s: s.put("sessions", 2, order="2").put("sessions", 3, order="1"),
        [("order_not_followed", B, "sessions", 3, "order")],
    ),
    "order not followed, told": (
        lambda s: s.put("sessions", 2, order="2").put(
            "sessions", 3, order="1", deviation="wrong_order"
        ),
        [],
    ),
    "same order twice": (
        lambda s: s.put("sessions", 3, order="1", deviation="wrong_order"),
        [("same_order_twice", B, "sessions", 3, "order")],
    ),
    "one eyelid only": (
        lambda s: (s.rows["sessions"].pop(8), s.rows["healed"].pop(8)),
        [("one_eyelid_only", L, "sessions", 8, "side")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ONE_CHANGE)
def test_one_change(name):
    spoil, expected = ONE_CHANGE[name]
    study = Study()
    spoil(study)

    assert found(study) == sorted(expected)


def test_client_without_a_card():
    """A client in sessions whose card was never opened is not enrolled."""
    cards = {code: card for code, card in CARDS.items() if code != "C314"}

    assert found(Study(), replace(EXPECTED, allocation=cards)) == [
        ("not_enrolled", B, "sessions", 2, "client_code")
    ]


def test_same_arm_on_both_eyelids_without_known_cards():
    """Without cards, the same arm on both eyelids is still seen."""
    study = arms(Study(), 3, "A")

    assert found(study, replace(EXPECTED, allocation=None)) == [
        ("same_arm_twice", B, "sessions", 3, "arm_actual")
    ]


def test_unblinded_row_where_the_plan_says_blind():
    """A row with blinded = no is pointed out when the plan scores blind."""
    study = Study().put("healed", 2, blinded="no", guess_arm="NA_not_applicable")

    assert found(study) == []
    assert found(study, replace(EXPECTED, blinded_outcome=True)) == [
        ("not_blinded", L, "healed", 2, "blinded")
    ]


def test_an_eyelid_without_a_healed_row_is_missed_once_its_fellow_has_one_or_time_is_over():
    """A result that nobody wrote down is no result; common practice, no source."""
    study = Study()
    client = study.rows["healed"].pop(1)[0]
    missed = [("healed_row_missing", L, "sessions", 2, "session_date")]
    assert study.rows["sessions"][1][0] == client
    assert found(study) == []  # no day is known
    assert found(study, replace(EXPECTED, today=date(2027, 6, 1))) == missed

    study.rows["healed"] = [row for row in study.rows["healed"] if row[0] != client]
    assert found(study, replace(EXPECTED, today=date(2027, 6, 1))) == missed
    begun = study.rows["sessions"][1][study.column("sessions", "session_date")]
    soon = date.fromisoformat(begun) + timedelta(days=EXPECTED.healed_window[1])
    told = found(study, replace(EXPECTED, today=soon))
    assert "healed_row_missing" not in [code for code, *_ in told]


def test_none_seen_beside_an_event():
    """A signed none_seen cannot stand beside an event of the same session."""
    study = Study()
    study.rows["events"].append(study.rows["events"][2].copy())
    study.put("events", 6, client_code="C314")

    assert (
        found(study)
        == [
            ("event_before_session", L, "events", 6, "onset_date"),
            ("none_seen_beside_event", B, "events", 2, "event"),
        ][1:]
    )


def test_stop_rule_counts_two_of_a_kind_in_one_arm_and_names_no_arm():
    """Two moderate bruises in arm A pause the study; the arm stays masked."""
    study = Study().put("events", 3, severity="moderate")  # C159 right: arm A
    study.rows["events"][1] = study.rows["events"][2].copy()
    study.put("events", 2, client_code="C314", side="L", onset_date="2026-03-03")  # arm A

    stops = [p for p in problems_of(study) if p.code == "stop_rule_reached"]

    assert [(p.row, p.severity) for p in stops] == [(3, L)]
    assert "nonwoven" not in stops[0].what + stops[0].remedy
    study.put("events", 2, side="R")  # the other arm
    assert [p for p in problems_of(study) if p.code == "stop_rule_reached"] == []


def test_order_and_sides_far_out_of_balance():
    """Six clients who all had arm A first and left cannot come from the cards."""
    study = Study()
    first, second = study.rows["sessions"][1], study.rows["sessions"][2]
    study.rows["sessions"] = [study.rows["sessions"][0]]
    study.rows["healed"] = study.rows["healed"][:1]
    study.rows["clients"] = [study.rows["clients"][0]] + [
        [f"C10{n}", *study.rows["clients"][1][1:]] for n in range(6)
    ]
    study.rows["events"] = [study.rows["events"][0]] + [
        [f"C10{n}", *study.rows["events"][1][1:]] for n in range(6)
    ]
    for n in range(6):
        study.rows["sessions"] += [[f"C10{n}", *first[1:]], [f"C10{n}", *second[1:]]]

    assert found(study, replace(EXPECTED, allocation=None)) == [
        ("order_not_balanced", L, "sessions", None, "order"),
        ("sides_not_balanced", L, "sessions", None, "side"),
    ]


def test_parallel_groups_give_both_eyelids_the_arm_of_the_client():
    """In parallel groups the card names one arm for the client."""
    cards = {code: Allotted(arm="A") for code in CARDS}
    expected = replace(EXPECTED, design="parallel", allocation=cards)
    study = Study()
    for row in range(2, 10):
        arms(study, row, "A")

    assert found(study, expected) == []

    for row in (8, 9):
        arms(study, row, "B")
    assert {(code, row) for code, _, _, row, _ in found(study, expected)} == {
        (code, row) for code in ("planned_arm_differs", "allocation_not_followed") for row in (8, 9)
    }

    arms(study, 8, "A")
    assert {code for code, *_ in found(study, expected)} == {
        "planned_arm_differs",
        "allocation_not_followed",
        "two_arms_on_one_eyelid",
    }


@pytest.mark.parametrize(
    ("shown", "way", "told"),
    [
        ("oxide", {"pigment_family": "iron_oxide"}, "mixed"),
        ("range", {"passes": (1.0, 3.0)}, "9"),
        ("number", {"passes": 2.0}, "9"),
    ],
)
def test_a_row_that_shows_another_way_than_was_drawn_is_pointed_to(shown, way, told):
    """What the two ways differ in stands in the plan; a row that says otherwise is looked at."""
    study = Study()
    column = next(iter(way))
    arm = study.rows["sessions"][1][study.rows["sessions"][0].index("arm_actual")]
    expected = replace(EXPECTED, recorded={arm: way})
    for row in range(2, len(study.rows["sessions"]) + 1):
        study.put("sessions", row, **{column: "iron_oxide" if shown == "oxide" else "2"})
    mine = lambda: [p for p in problems_of(study, expected) if p.code == "way_not_shown"]  # noqa: E731
    assert mine() == []

    study.put("sessions", 2, **{column: "mixed" if shown == "oxide" else "9"})
    (only,) = mine()
    assert (only.severity, only.column) == (L, column)
    named = EXPECTED.tables["sessions"][column].named
    assert only.what.startswith(f"{named} says {told}, but way")
    study.put("sessions", 2, deviation="other")
    assert mine() == []


def test_a_doubt_is_told_as_a_doubt():
    """What she is unsure about is not said of her."""
    study = Study().put("clients", 2, pregnant_or_nursing="unsure", anticoagulant="yes")
    (only,) = problems_of(study)
    assert "with: a blood thinner, unsure about pregnant or breast-feeding." in only.what
