"""Who may take part: rules that a study can tighten, never loosen.

The rules follow common practice of the trade (no source) unless a line says otherwise. Local
codes, the licence and the client's own physician always come first.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from pmulab.plan import EXCLUSION, Plan
from pmulab.tables.fields import MISSING_REASONS

Action = Literal["not now", "not here", "not left/right", "no consent"]
Answers = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One reason why a client does not take part.

    Parameters
    ----------
    code : str
        As the clients table keeps it in `eligible_reason`.
    action : {'not now', 'not here', 'not left/right', 'no consent'}
    words : str
        What to say and do, in plain words.
    """

    code: str
    action: Action
    words: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A question of the enrolment form that only a plain 'no' answers without an obstacle."""

    field: str
    obstacle: Obstacle


def _rule(field: str, code: str, action: Action, words: str) -> Rule:
    return Rule(field, Obstacle(code, action, words))


_GENERAL = (
    _rule(
        "pregnant_or_nursing",
        "pregnant_or_nursing",
        "not now",
        "Pregnant or breast-feeding: defer.",
    ),
    _rule(
        "active_eye_disease",
        "eye_disease",
        "not now",
        "Eye or lid disease, blisters or open skin: do not work; a physician clears it first.",
    ),
    _rule(
        "eye_surgery_6m",
        "eye_surgery",
        "not now",
        "Surgery or injections near the eye, retinal problem or glaucoma: written clearance first.",
    ),
    _rule(
        "isotretinoin_12m",
        "medicine",
        "not now",
        "Isotretinoin now or in the past months: defer; sheets of the trade say 6 to 12 months.",
    ),
    _rule(
        "anticoagulant",
        "medicine",
        "not now",
        "Blood-thinning drug or clotting disorder: the physician decides. "
        "Never tell a client to stop a prescribed drug.",
    ),
    _rule(
        "lash_serum_4w",
        "medicine",
        "not now",
        "Lash serum in the past four weeks: defer; lid vessels may be widened.",
    ),
    _rule(
        "allergy_flag",
        "allergy",
        "not here",
        "Allergy to pigment, metal, latex or numbing products, or an earlier tattoo reaction: "
        "decline, or a specialist's test first. A patch test lowers the risk, it does not end it.",
    ),
    _rule(
        "other_health_reason",
        "skin_or_general_health",
        "not now",
        "Another health reason (keloids, uncontrolled diabetes, weak immune defence, fever or "
        "infection, epilepsy, dry eye, not sober, below the local age limit): defer or decline. "
        "Whoever is below the local age limit is not treated.",
    ),
    _rule(
        "old_pigment",
        "old_pigment",
        "not here",
        "Old pigment on the lid: the healed result cannot be told apart, so not in a study.",
    ),
)
_CAPILLARIES = Obstacle(
    "capillaries",
    "not here",
    "Visible capillaries along the lash line and a carbon-based pigment in this plan: never draw "
    "lots for this client. Use an iron-oxide pigment outside the study, or decline.",
)
_SYMMETRY = Obstacle(
    "eyelids_differ",
    "not left/right",
    "The eyelids differ (scar, drooping lid, unequal vessels): no left/right comparison.",
)
_NO_CONSENT = Obstacle(
    "declined",
    "no consent",
    "No consent to be recorded and to have the sides drawn by lot: not in the study. Whether she "
    "may be treated at all, your usual health questions and rules decide. Refusing never changes "
    "the care.",
)

_AGE = Obstacle(
    "age",
    "not now",
    "Her age band is not known, so nobody can tell that she is of age: not now. Whoever is below "
    "the local age limit is not treated. Ask for the band only, never for a birth date.",
)
_OWN_REASON = Obstacle(
    "other",
    "not here",
    "One of the reasons that this study's plan names: not in this study.",
)


def obstacles(answers: Answers, plan: Plan) -> tuple[Obstacle, ...]:
    """List every reason why a client may not be enrolled.

    Parameters
    ----------
    answers : mapping of str to str
        Fields of the clients table with checked answers (`yes`, `no`, `unsure`, ...). Only a
        'no' clears a health question: a doubt, a refusal and a missing answer keep out.
    plan : Plan

    Returns
    -------
    tuple of Obstacle
        Empty when the client can take part. Who does not agree to be recorded is asked nothing
        more.
    """
    if answers.get("consent_record") == "no":
        return (_NO_CONSENT,)
    found = [rule.obstacle for rule in _GENERAL if answers.get(rule.field) != "no"]
    found += [obstacle for obstacle, holds in _STUDY_RULES if holds(answers, plan)]
    return tuple(found)


def _carbon(plan: Plan) -> bool:
    families = {plan.study.pigment, plan.arms.A.pigment, plan.arms.B.pigment}
    return bool(families & {"carbon", "mixed"})


def _age_unknown(answers: Answers) -> bool:
    band = answers.get("age_band") or ""
    return not band or band in MISSING_REASONS


_STUDY_RULES: tuple[tuple[Obstacle, Callable[[Answers, Plan], bool]], ...] = (
    (_AGE, lambda answers, plan: _age_unknown(answers)),  # noqa: ARG005
    (
        _CAPILLARIES,
        lambda answers, plan: answers.get("lid_capillaries") != "none" and _carbon(plan),
    ),
    (
        _SYMMETRY,
        lambda answers, plan: answers.get("eyelid_symmetry_ok") != "yes" and plan.within_person,
    ),
    (
        _OWN_REASON,
        lambda answers, plan: bool(plan.clients.exclude) and answers.get(EXCLUSION) != "no",
    ),
    (_NO_CONSENT, lambda answers, plan: answers.get("consent_record") != "yes"),  # noqa: ARG005
)
