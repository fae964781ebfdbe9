"""What a client says who can take part, by the questions of the form."""

from pmulab.tables import study_tables

_ANSWERS = {
    "age_band": "30-39",
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
    "consent_record": "yes",
    "consent_share_numbers": "no",
    "consent_share_photos": "no",
}


def label(name: str) -> str:
    """Give the label of a question in the form."""
    field = study_tables()["clients"][name]
    return f"{field.title} ({field.unit})" if field.unit else field.title


def eligible(**changed: str) -> dict[str, str]:
    """Give an answer for each list of the form, by its label."""
    given = {label(name): answer for name, answer in (_ANSWERS | changed).items()}
    return given | {"A reason of this study's plan": "no"}
