"""Plan, cards and answers of the invented demonstration study."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from importlib.resources import files

import pandas as pd

from pmulab.allocation import Schedule, Side, Slot
from pmulab.demo.cases import STARTED, Invented, frames_of, rows_of
from pmulab.plan import Key

_BLOCK = 4
_ELIGIBLE = {
    "skin_type": "II",
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
    "study_exclusion": "no",
    "consent_record": "yes",
    "consent_share_numbers": "yes",
    "consent_share_photos": "yes",
}
_AGES = ("30-39", "40-49", "18-29", "50-59", "40-49", "30-39", "60-69", "40-49", "30-39", "50-59")
_NO_PHOTOS = "C158"


@dataclass(frozen=True, slots=True)
class Asked:
    """One client who was asked, on which day, and her answers.

    Parameters
    ----------
    client_code : str
    day : int
        Days after the start of the study.
    answers : mapping of str to str
    """

    client_code: str
    day: int
    answers: Mapping[str, str]


@dataclass(frozen=True, slots=True, eq=False)
class Scenario:
    """Everything that was typed in the demonstration.

    Parameters
    ----------
    plan : str
        Text of plan.toml.
    schedule : Schedule
    asked : sequence of Asked
        In the order of asking; two of them do not take part.
    as_first_typed, mended : mapping of str to DataFrame
        Rows of the workbook before and after the typing mistake was put right.
    cases : sequence of Invented
    """

    plan: str
    schedule: Schedule
    asked: tuple[Asked, ...]
    as_first_typed: Mapping[str, pd.DataFrame]
    mended: Mapping[str, pd.DataFrame]
    cases: tuple[Invented, ...]


@cache
def scenario() -> Scenario:
    """Give the demonstration.

    Returns
    -------
    Scenario
    """
    cases = tuple(Invented.from_row(row) for row in rows_of("cases.csv"))
    mended = frames_of(cases)
    typed = mended["sessions"].copy()
    typed.loc[(typed["client_code"] == "C734") & (typed["order"] == "2"), "work_min"] = "170"
    return Scenario(
        plan=files("pmulab.demo").joinpath("plan.toml").read_text(encoding="utf-8"),
        schedule=schedule_of(cases),
        asked=_asked(cases),
        as_first_typed=mended | {"sessions": typed},
        mended=mended,
        cases=cases,
    )


def answers_of(cases: Sequence[Invented]) -> list[dict[str, str]]:
    """Give the clients' own answers, in their order."""
    return [_answers(case.day, _AGES[place % len(_AGES)]) for place, case in enumerate(cases)]


def schedule_of(cases: Sequence[Invented]) -> Schedule:
    """Give the cards that were drawn for invented clients, and a spare block."""
    slots = [
        Slot(number, case.block, _BLOCK, left=case.arm_of("L"), first=case.first_side)
        for number, case in enumerate(cases, start=1)
    ]
    spare: tuple[tuple[Key, Side], ...] = (("B", "L"), ("A", "R"), ("A", "L"), ("B", "R"))
    slots += [
        Slot(len(cases) + place, cases[-1].block + 1, _BLOCK, left=arm, first=side)
        for place, (arm, side) in enumerate(spare, start=1)
    ]
    return Schedule("within-person", tuple(slots))


def _asked(cases: Sequence[Invented]) -> tuple[Asked, ...]:
    keeps = {"consent_share_photos": "no", "consent_share_photos_date": ""}
    taking_part = [
        Asked(
            case.client_code,
            case.day,
            answers | (keeps if case.client_code == _NO_PHOTOS else {}),
        )
        for case, answers in zip(cases, answers_of(cases), strict=True)
    ]
    refuses = {"consent_record": "no", "consent_share_numbers": "no"} | keeps
    dates = {"consent_record_date": "", "consent_share_numbers_date": ""}
    others = [
        Asked("C640", 17, _answers(17, "40-49") | {"active_eye_disease": "yes"}),
        Asked("C377", 29, _answers(29, "30-39") | refuses | dates),
    ]
    return tuple(sorted([*taking_part, *others], key=lambda one: one.day))


def _answers(day: int, age_band: str) -> dict[str, str]:
    signed = (STARTED + timedelta(days=day)).isoformat()
    return _ELIGIBLE | {
        "age_band": age_band,
        "consent_record_date": signed,
        "consent_share_numbers_date": signed,
        "consent_share_photos_date": signed,
    }
