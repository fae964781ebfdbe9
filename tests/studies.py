"""Study folders built from published pairs, through the same door as a user's: plan, lock,
enrolment, workbook."""

from datetime import UTC, date, datetime, timedelta

import pandas as pd

from pmulab.stations.enrol import enrol
from pmulab.stations.lock import lock
from pmulab.stations.opening import expectations
from pmulab.study import RECORDS, Study, begin
from pmulab.tables.workbook import workbook_bytes

PLAN = """
format = 1
[study]
code = "{code}"
title = "A published data set"
question = "Do the two ways differ?"
design = "{design}"
lid = "upper"
[arms.A]
label = "way one"
[arms.B]
label = "way two"
[primary]
name = "{name}"
table = "{table}"
title = "{name}"
unit = "{unit}"
kind = "{kind}"
better = "lower"
worthwhile = {worthwhile}
low = {low}
high = {high}
step = {step}
[clients]
planned = {planned}
[promises]
allowed_by = "nobody was treated: published numbers"
later_use = "published"
unblinding = "published"
looking_early = "published"
after_care = "nobody was treated"
sharing = "published"
"""
ANSWERS = {
    "age_band": "30-39",
    "lid_capillaries": "none",
    "eyelid_symmetry_ok": "yes",
    "old_pigment": "no",
    "contacts": "no",
    "lash_serum_4w": "no",
    "anticoagulant": "no",
    "isotretinoin_12m": "no",
    "eye_surgery_6m": "no",
    "pregnant_or_nursing": "no",
    "active_eye_disease": "no",
    "allergy_flag": "no",
    "other_health_reason": "no",
    "consent_record": "yes",
    "consent_record_date": "2026-01-01",
    "consent_share_numbers": "yes",
    "consent_share_numbers_date": "2026-01-01",
    "consent_share_photos": "no",
}
SESSION = {
    "session_no": "1",
    "session_date": "2026-01-05",
    "case_in_day": "1",
    "lid": "upper",
    "deviation": "none",
    "operator_code": "P1",
    "operator_hand": "right",
    "style": "thin_line",
    "pigment_family": "iron_oxide",
    "pigment_batch": "none",
    "numbing_class": "none",
    "numbing_min": "NA_not_applicable",
    "needle_config": "1_round",
    "passes": "NA_not_applicable",
    "work_min": "NA_not_applicable",
    "wipe_material": "other",
    "soothing_step": "none",
    "bleeding": "NA_not_applicable",
    "pain_work": "NA_not_applicable",
}
HEALED = {
    "visit_no": "1",
    "rater_code": "S1",
    "look_no": "1",
    "healed_date": "2026-02-16",
    "seen": "seen",
    "rater_is_operator": "no",
    "blinded": "yes",
    "guess_arm": "no_idea",
    "photo_code": "NA_not_applicable",
    "photo_quality": "NA_not_applicable",
    "segments_kept": "NA_not_done",
    "migration": "no",
    "colour_shift": "none",
    "touchup_needed": "no",
}


def plan_text(**given):
    """Text of a plan; entries not given have neutral values."""
    neutral = {
        "code": "published", "design": "within-person", "name": "own_value", "table": "sessions",
        "unit": "units", "kind": "continuous", "worthwhile": 0.5, "low": -1000.0,
        "high": 1000.0, "step": 0.0, "planned": 10,
    }  # fmt: skip
    return PLAN.format(**(neutral | given))


def code_of(number):
    """Client code of a running number."""
    return f"C{100 + number}"


def clock(day=0):
    """A clock that stands still on the first session's day, or some days later."""
    return lambda: datetime(2026, 1, 5, 8, tzinfo=UTC) + timedelta(days=day)


def enrolled_study(folder, clients, **given):
    """A locked study with so many clients enrolled."""
    study = begin(folder, plan_text(**({"planned": max(clients, 2)} | given)), clock())
    lock(study)
    for number in range(1, clients + 1):
        enrol(study, code_of(number), ANSWERS)
    return Study(folder, clock(120))


def fill_workbook(study, values, session=None, healed=None, events=None):
    """Type values into the study's workbook.

    `values` maps (client code, arm) to the primary outcome, or to None for not recorded.
    """
    plan = study.plan()
    primary = plan.primary
    sessions, judged = [], []
    for card in study.assignments():
        for side in ("L", "R"):
            arm = card.slot.arm_of(side)
            value = values.get((card.client_code, arm))
            own = {primary.name: "NA_lost" if value is None else f"{value:.10g}"}
            key = {"client_code": card.client_code, "side": side}
            order = "1" if side == (card.slot.first or "L") else "2"
            row = SESSION | key | {"arm_planned": arm, "arm_actual": arm, "order": order}
            sessions.append(row | (own if primary.table == "sessions" else {}) | (session or {}))
            if primary.table == "healed":
                judged.append(HEALED | key | own | (healed or {}))
    signed = [
        {"client_code": card.client_code, "session_no": "1", "event": "none_seen",
         "signed_by": "P1"}
        for card in study.assignments()
    ]  # fmt: skip
    rows = {"sessions": pd.DataFrame(sessions), "events": pd.DataFrame(signed + (events or []))}
    if judged:
        rows["healed"] = pd.DataFrame(judged)
    blank = next(e.detail["workbook"] for e in study.journal() if e.event == "plan locked")
    expected = expectations(plan, study.assignments())
    study.fill_blank(RECORDS, workbook_bytes(plan.tables(), expected, rows), blank)


def paired_study(folder, a, b, **given):
    """A finished within-person study of published pairs."""
    study = enrolled_study(folder, len(a), **given)
    values = {}
    for number, (one, other) in enumerate(zip(a, b, strict=True), start=1):
        values[code_of(number), "A"], values[code_of(number), "B"] = one, other
    fill_workbook(study, values)
    return study


def today():
    """Date on which the built studies are analysed."""
    return date(2026, 5, 5)
