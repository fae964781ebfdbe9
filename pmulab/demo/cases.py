"""The clients of an invented study, and what was recorded of each."""

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from importlib.resources import files

import pandas as pd

from pmulab.allocation import Side
from pmulab.plan import Key

STARTED = date(2026, 2, 2)
HEALED_AFTER = 42
_SESSION = {
    "session_no": "1",
    "case_in_day": "1",
    "lid": "upper",
    "deviation": "none",
    "operator_code": "P1",
    "operator_hand": "right",
    "style": "thin_line",
    "pigment_family": "iron_oxide",
    "pigment_batch": "lot-07",
    "numbing_class": "lidocaine_only",
    "numbing_min": "20",
    "needle_config": "1_round",
    "passes": "2",
    "soothing_step": "none",
    "bleeding": "0",
}
_DEVIATION = ("C581", "R")
_IRRITATED = "C675"
_WIPES = {"A": "damp_nonwoven", "B": "dry_nonwoven"}


@dataclass(frozen=True, slots=True)
class Invented:
    """One invented client: her card, and what was measured with the damp (A) and dry (B) wipe.

    Parameters
    ----------
    client_code : str
    day : int
        Days after the start of the study.
    block : int
    damp_side, first_side : {'L', 'R'}
    measured : mapping of (measure, arm) to str
        'min', 'swell', 'pain' and 'kept' for 'A' and 'B'; '' where she was not seen.
    """

    client_code: str
    day: int
    block: int
    damp_side: Side
    first_side: Side
    measured: Mapping[tuple[str, Key], str]

    @classmethod
    def from_row(cls, row: Mapping[str, str]) -> "Invented":
        """Read a line of cases.csv."""
        arms: tuple[tuple[Key, str], ...] = (("A", "damp"), ("B", "dry"))
        measured = {
            (measure, arm): row[f"{measure}_{name}"]
            for measure in ("min", "swell", "pain", "kept")
            for arm, name in arms
        }
        sides = (_side(row["damp_side"]), _side(row["first_side"]))
        return cls(row["client_code"], int(row["day"]), int(row["block"]), *sides, measured)

    def arm_of(self, side: Side) -> Key:
        """Give the arm of an eyelid."""
        return "A" if side == self.damp_side else "B"

    @property
    def seen(self) -> bool:
        """True when the healed line was judged."""
        return self.measured["kept", "A"] != ""

    def date(self, days: int = 0) -> str:
        """Give the calendar date of her session, or some days after it."""
        return (STARTED + timedelta(days=self.day + days)).isoformat()


def rows_of(name: str) -> list[dict[str, str]]:
    """Read a file of invented rows."""
    text = files("pmulab.demo").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def frames_of(cases: Sequence[Invented]) -> dict[str, pd.DataFrame]:
    """Give the tables of invented clients, but for the clients themselves."""
    return {"sessions": _sessions(cases), "healed": _healed(cases), "events": _events(cases)}


def _sessions(cases: Sequence[Invented]) -> pd.DataFrame:
    return pd.DataFrame([_eyelid(case, side) for case in cases for side in _order(case)])


def _order(case: Invented) -> tuple[Side, Side]:
    return ("L", "R") if case.first_side == "L" else ("R", "L")


def _eyelid(case: Invented, side: Side) -> dict[str, str]:
    arm = case.arm_of(side)
    row = _SESSION | {
        "client_code": case.client_code,
        "session_date": case.date(),
        "side": side,
        "arm_planned": arm,
        "arm_actual": arm,
        "order": "1" if side == case.first_side else "2",
        "wipe_material": _WIPES[arm],
        "work_min": case.measured["min", arm],
        "swelling_end": case.measured["swell", arm],
        "pain_work": case.measured["pain", arm],
    }
    if (case.client_code, side) == _DEVIATION:
        row |= {"deviation": "other", "note": "needle changed half-way, clock paused"}
    return row


def _healed(cases: Sequence[Invented]) -> pd.DataFrame:
    return pd.DataFrame([_judged(case, side) for case in cases for side in ("L", "R")])


def _judged(case: Invented, side: Side) -> dict[str, str]:
    row = {
        "client_code": case.client_code,
        "side": side,
        "visit_no": "1",
        "rater_code": "S2",
        "look_no": "1",
        "seen": "seen" if case.seen else "lost",
        "rater_is_operator": "no",
        "blinded": "yes",
    }
    if not case.seen:
        return row
    kept = case.measured["kept", case.arm_of(side)]
    return row | {
        "healed_date": case.date(HEALED_AFTER),
        "guess_arm": "no_idea",
        "photo_code": f"healed-{case.client_code}-{side}",
        "photo_quality": "ok",
        "segments_kept": kept,
        "migration": "no",
        "colour_shift": "none",
        "touchup_needed": "yes" if int(kept) <= 7 else "no",
    }


def _events(cases: Sequence[Invented]) -> pd.DataFrame:
    return pd.DataFrame([_event(case) for case in cases])


def _event(case: Invented) -> dict[str, str]:
    signed = {"client_code": case.client_code, "session_no": "1", "signed_by": "P1"}
    if case.client_code != _IRRITATED:
        return signed | {"event": "none_seen"}
    return signed | {
        "side": "R",
        "onset_date": case.date(1),
        "event": "eye_irritation",
        "severity": "mild",
        "serious": "no",
        "related": "possible",
        "referred_to": "none",
        "outcome": "resolved",
        "series_action": "none",
    }


def _side(word: str) -> Side:
    return "L" if word == "L" else "R"
