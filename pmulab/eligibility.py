"""Who may take part: rules that a study can tighten, never loosen.

The rules follow common practice of the trade (no source) unless a line says otherwise. Local
codes, the licence and the client's own physician always come first.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from pmulab.plan import EXCLUSION, Plan
from pmulab.tables.fields import MISSING_REASONS

Action = Literal["not now", "not here", "not left/right", "no consent"]
Answers = Mapping[str, str]

_UNKNOWN = {"": "not answered", "unsure": "unsure"}
_UNKNOWN |= dict.fromkeys(MISSING_REASONS, "not answered") | {"NA_refused": "she does not say"}
_NOT_KNOWN = (
    "What is not known counts as a reason not to take part for now: whoever may decide it has to "
    "clear it first."
)


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
    """A question that lets a client take part by one answer only.

    Parameters
    ----------
    field : str
    code : str
        As in `Obstacle`.
    action : str
        As in `Obstacle`.
    stated : str
        What to say when the answer itself is the reason.
    always : str, default=''
        What holds as well while the answer is not known.
    clears : str, default='no'
        The only answer without an obstacle: a doubt, a refusal and a missing answer keep out.
    applies : callable, optional
        Whether a plan asks for it; every plan does unless this says otherwise.
    """

    field: str
    code: str
    action: Action
    stated: str
    always: str = ""
    clears: str = "no"
    applies: Callable[[Plan], bool] = lambda plan: True  # noqa: ARG005

    def obstacle(self, answer: str, plan: Plan) -> Obstacle:
        """Give the reason that an answer makes; what nobody knows is never said of her."""
        said = self.stated
        if answer in _UNKNOWN:
            title = plan.tables()["clients"][self.field].title
            said = f"{title}: {_UNKNOWN[answer]}. {_NOT_KNOWN}"
        return Obstacle(self.code, self.action, f"{said} {self.always}".strip())


def _carbon(plan: Plan) -> bool:
    families = {plan.study.pigment, plan.arms.A.pigment, plan.arms.B.pigment}
    return bool(families & {"carbon", "mixed"})


_CONSENT = Rule(
    "consent_record",
    "declined",
    "no consent",
    "No consent to be recorded and to have the sides drawn by lot: not in the study. Whether she "
    "may be treated at all, your usual health questions and rules decide.",
    "Refusing never changes the care.",
    clears="yes",
)
_AGE = Obstacle(
    "age",
    "not now",
    "Her age band is not known, so nobody can tell that she is of age: not now. Whoever is below "
    "the local age limit is not treated. Ask for the band only, never for a birth date.",
)
_GENERAL = (
    Rule(
        "pregnant_or_nursing",
        "pregnant_or_nursing",
        "not now",
        "Pregnant or breast-feeding: defer.",
    ),
    Rule(
        "active_eye_disease",
        "eye_disease",
        "not now",
        "Eye or lid disease, blisters or open skin: do not work; a physician clears it first.",
    ),
    Rule(
        "eye_surgery_6m",
        "eye_surgery",
        "not now",
        "Surgery or injections near the eye, retinal problem or glaucoma: written clearance first.",
    ),
    Rule(
        "isotretinoin_12m",
        "medicine",
        "not now",
        "Isotretinoin now or in the past months: defer; sheets of the trade say 6 to 12 months.",
    ),
    Rule(
        "anticoagulant",
        "medicine",
        "not now",
        "Blood-thinning drug or clotting disorder: the physician decides.",
        "Never tell a client to stop a prescribed drug.",
    ),
    Rule(
        "lash_serum_4w",
        "lash_serum",
        "not now",
        "Lash serum in the past four weeks: defer; lid vessels may be widened.",
        "One that a physician prescribed is never stopped on your word.",
    ),
    Rule(
        "allergy_flag",
        "allergy",
        "not here",
        "Allergy to pigment, metal, latex or numbing products, or an earlier tattoo reaction: "
        "decline, or a specialist's test first.",
        "A patch test lowers the risk, it does not end it.",
    ),
    Rule(
        "other_health_reason",
        "skin_or_general_health",
        "not now",
        "Another health reason (keloids, uncontrolled diabetes, weak immune defence, fever or "
        "infection, epilepsy, dry eye, not sober, below the local age limit): defer or decline.",
        "Whoever is below the local age limit is not treated.",
    ),
    Rule(
        "old_pigment",
        "old_pigment",
        "not here",
        "Old pigment on the lid: the healed result cannot be told apart, so not in a study.",
    ),
)
_OF_A_STUDY = (
    Rule(
        "lid_capillaries",
        "capillaries",
        "not here",
        "Visible capillaries along the lash line: never draw lots for this client.",
        "Visible capillaries and the carbon-based pigment of this plan do not go together: an "
        "iron-oxide pigment outside the study, or decline.",
        clears="none",
        applies=_carbon,
    ),
    Rule(
        "eyelid_symmetry_ok",
        "eyelids_differ",
        "not left/right",
        "The eyelids differ (scar, drooping lid, unequal vessels): no left/right comparison.",
        clears="yes",
        applies=lambda plan: plan.within_person,
    ),
    Rule(
        EXCLUSION,
        "other",
        "not here",
        "One of the reasons that this study's plan names: not in this study.",
        applies=lambda plan: bool(plan.clients.exclude),
    ),
    _CONSENT,
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
        return (_CONSENT.obstacle("no", plan),)
    known = (answers.get("age_band") or "") not in _UNKNOWN
    age = () if known else (_AGE,)
    return (*_found(_GENERAL, answers, plan), *age, *_found(_OF_A_STUDY, answers, plan))


def _found(rules: tuple[Rule, ...], answers: Answers, plan: Plan) -> Iterator[Obstacle]:
    for rule in rules:
        answer = answers.get(rule.field) or ""
        if answer != rule.clears and rule.applies(plan):
            yield rule.obstacle(answer, plan)
