"""Invented rows that pass every check: they show how the tables are filled in.

All clients, codes and values are invented.
"""

from collections.abc import Mapping
from datetime import date, timedelta

import pandas as pd

from pmulab.tables.fields import Table

_CARDS = (("C314", "L", "L"), ("C159", "R", "L"), ("C265", "L", "R"), ("C358", "R", "R"))
_START = date(2026, 3, 2)
_MINUTES = {"A": (14.0, 13.5, 15.0, 12.5), "B": (16.5, 17.0, 16.0, 15.5)}


def _clients() -> list[dict[str, object]]:
    shared: dict[str, object] = {
        "age_band": "40-49", "skin_type": "II", "skin_oiliness": "normal",
        "lid_capillaries": "none", "eyelid_symmetry_ok": "yes", "old_pigment": "no",
        "smoker": "no", "sun_exposure": "medium", "contacts": "no", "lash_serum_4w": "no",
        "anticoagulant": "no", "isotretinoin_12m": "no", "eye_surgery_6m": "no",
        "pregnant_or_nursing": "no", "active_eye_disease": "no", "allergy_flag": "no",
        "other_health_reason": "no",
        "eligible": "yes", "eligible_reason": "none", "consent_record": "yes",
        "consent_share_numbers": "yes", "consent_share_photos": "no",
        "consent_share_photos_date": "NA_not_applicable",
    }  # fmt: skip
    rows = []
    for number, (code, _, _) in enumerate(_CARDS):
        day = (_day(number) - timedelta(days=7)).isoformat()
        dates = {"consent_record_date": day, "consent_share_numbers_date": day}
        rows.append({"client_code": code, **shared, **dates})
    left_out = shared | {
        "eyelid_symmetry_ok": "no", "eligible": "no", "eligible_reason": "eyelids_differ",
        "consent_record": "no", "consent_record_date": "NA_not_applicable",
        "consent_share_numbers": "no", "consent_share_numbers_date": "NA_not_applicable",
    }  # fmt: skip
    return [*rows, {"client_code": "C979", **left_out}]


def _day(number: int) -> date:
    return _START + timedelta(weeks=number)


def _arm(arm_a_side: str, side: str) -> str:
    return "A" if side == arm_a_side else "B"


def _sessions() -> list[dict[str, object]]:
    shared: dict[str, object] = {
        "session_no": 1, "start_hour": 10, "case_in_day": 1, "lid": "upper", "deviation": "none",
        "operator_code": "OP1", "operator_hand": "right", "style": "lash_enhancement",
        "planned_length_mm": 27, "planned_width_mm": 1.2, "pigment_family": "iron_oxide",
        "pigment_batch": "LOT 4711", "numbing_class": "lidocaine_only", "needle_config": "3_round",
        "needle_diam_mm": 0.3, "machine_speed": 90, "depth_set_mm": 0.8, "passes": 2,
        "sections": 3, "soothing_step": "room_saline", "soothing_min": 5, "tearing": 1,
        "pain_end": 1,
    }  # fmt: skip
    rows = []
    for number, (code, arm_a_side, first) in enumerate(_CARDS):
        for side in "LR":
            arm = _arm(arm_a_side, side)
            minutes = _MINUTES[arm][number]
            second = side != first
            rows.append(shared | {
                "client_code": code, "session_date": _day(number).isoformat(), "side": side,
                "arm_planned": arm, "arm_actual": arm, "order": 1 + second,
                "numbing_min": 20 + 20 * second, "work_min": minutes, "elapsed_min": minutes + 4,
                "wipes": 18 if arm == "A" else 25,
                "wipe_material": "damp_nonwoven" if arm == "A" else "dry_nonwoven",
                "bleeding": number % 2, "pain_work": 3 + (arm == "B"), "swelling_end": 1 + second,
                "aperture_before_mm": 9.5, "aperture_after_mm": 8.5 - 0.5 * second,
                "photo_before": f"P{10 + number}{side}0", "photo_after": f"P{10 + number}{side}1",
            })  # fmt: skip
    return rows


def _healed() -> list[dict[str, object]]:
    seen: dict[str, object] = {
        "visit_no": 1, "rater_code": "RA1", "look_no": 1, "seen": "seen",
        "rater_is_operator": "no", "blinded": "yes", "guess_arm": "no_idea",
        "photo_quality": "ok", "migration": "no", "spread_mm": 0.2, "colour_shift": "none",
        "touchup_needed": "no", "touchup_min": 0, "preference": "no_difference",
        "adherence": "full",
    }  # fmt: skip
    lost = {"visit_no": 1, "rater_code": "RA1", "look_no": 1, "seen": "lost"}
    rows: list[dict[str, object]] = []
    for number, (code, arm_a_side, _) in enumerate(_CARDS):
        for side in "LR":
            key: dict[str, object] = {"client_code": code, "side": side}
            if number == len(_CARDS) - 1:
                rows.append(key | lost)
                continue
            kept = 9 if _arm(arm_a_side, side) == "A" else 8
            rows.append(key | seen | {
                "healed_date": (_day(number) + timedelta(days=42)).isoformat(),
                "photo_code": f"P{50 + number}{side}", "segments_kept": kept,
                "retention_grade": 3, "evenness_grade": 3, "satisfaction": kept,
            })  # fmt: skip
    return rows


def _events() -> list[dict[str, object]]:
    none: dict[str, object] = {
        "session_no": 1, "side": "general", "event": "none_seen", "signed_by": "OP1",
    }  # fmt: skip
    bruise: dict[str, object] = {
        "session_no": 1, "side": "R", "event": "bruise", "severity": "mild", "serious": "no",
        "related": "probable", "referred_to": "none", "referred_date": "NA_not_applicable",
        "outcome": "resolved", "series_action": "none", "reported_to_authority": "no",
        "onset_date": (_day(1) + timedelta(days=1)).isoformat(), "signed_by": "OP1",
    }  # fmt: skip
    return [
        {"client_code": code} | (bruise if number == 1 else none)
        for number, (code, _, _) in enumerate(_CARDS)
    ]


def _practice() -> list[dict[str, object]]:
    minutes = ("17.5", "16", "18", "15.5", "14", "15")
    return [
        {
            "client_no": str(number + 1), "session_date": _day(number).isoformat(),
            "lid": "upper", "adverse_event": "no", "work_min": minutes[number],
            "segments_kept": "8" if number < 5 else "NA_not_done",
            "touchup_needed": ("yes" if number == 1 else "no") if number < 5 else "NA_not_done",
            "change_note": "finer needle" if number == 3 else "", "invented": "yes",
        }
        for number in range(len(minutes))
    ]  # fmt: skip


def example_frames(tables: Mapping[str, Table]) -> dict[str, pd.DataFrame]:
    """Return the invented example, a frame of values a table.

    Parameters
    ----------
    tables : mapping of table name to Table

    Returns
    -------
    dict of str to DataFrame
        Every column of the table; empty text for a blank, with the reason code where one is
        needed.
    """
    rows = {
        "clients": _clients(), "sessions": _sessions(), "healed": _healed(), "events": _events(),
        "practice": _practice(),
    }  # fmt: skip
    frames = {}
    for name, table in tables.items():
        frame = pd.DataFrame(rows[name], dtype=object).reindex(columns=list(table.names))
        frames[name] = _with_reasons(table, frame.astype(object).where(frame.notna(), ""))
    return frames


def _with_reasons(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Write the reasons that reading would fill in, so that the example shows them."""
    needed = [f.name for f in table.fields if f.needed == "always" and f.name not in table.keys]
    for fill in table.fills:
        for name in fill.only or needed:
            explained = frame[fill.field].eq(fill.value) & frame[name].eq("")
            frame.loc[explained, name] = fill.reason
    return frame
