"""Which studies ask the same question, and what keeps the others apart."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pmulab.errors import UserError
from pmulab.findings import Findings
from pmulab.findings.pooled import Question, Reported, SetAside
from pmulab.plan import Outcome, Plan


@dataclass(frozen=True, slots=True)
class _Trait:
    """One thing that pooled studies must have in common: as compared, and in words."""

    name: str
    compared: object
    words: str


def one_question(
    packs: Sequence[Reported],
) -> tuple[Question, list[Reported], list[SetAside], list[str]]:
    """Part the packs into those of one question and the rest.

    Parameters
    ----------
    packs : sequence of Reported
        One at least.

    Returns
    -------
    tuple of (Question, list of Reported, list of SetAside, list of str)
        The question that most packs ask; those that ask it; the others, each with what differs;
        and what a reader should know of those that ask it.

    Raises
    ------
    UserError
        If there is no pack, or two questions are asked equally often.
    """
    if not packs:
        raise UserError(
            "There is no pack to pool.", "Name packs, or a folder that holds some (*.zip)."
        )
    traits = [_traits(pack.findings) for pack in packs]
    keys = [tuple(trait.compared for trait in own) for own in traits]
    ranked = Counter(keys).most_common(2)
    if len(ranked) > 1 and ranked[0][1] == ranked[1][1]:
        raise UserError(
            _two_questions(traits, keys, [key for key, _ in ranked]),
            "Give only the packs of one question.",
        )
    first = keys.index(ranked[0][0])
    same: list[Reported] = []
    aside: list[SetAside] = []
    flags: list[str] = []
    for pack, own in zip(packs, traits, strict=True):
        why = "; ".join(_differences(own, traits[first]))
        why = why or _swapped(pack.findings.plan, packs[first].findings.plan)
        if why:
            aside.append(SetAside(pack.label, why))
        else:
            same.append(pack)
            flags += _other_names(pack, packs[first])
    return _question(same), same, aside, flags


def _traits(findings: Findings) -> tuple[_Trait, ...]:
    plan, outcome = findings.plan, findings.plan.primary
    return (
        _Trait("main measure", (outcome.name, outcome.table), outcome.title),
        _Trait("unit", (outcome.unit.casefold(), outcome.kind), f"{outcome.unit} ({outcome.kind})"),
        _Trait("scale", _scale(outcome), f"{outcome.low:g} to {outcome.high:g}"),
        _Trait("better direction", outcome.better, f"{outcome.better} is better"),
        _Trait("time of judging", _window(plan), _window_words(plan)),
        _Trait("design", plan.study.design, plan.study.design),
        _Trait("eyelid", plan.study.lid, f"{plan.study.lid} eyelid"),
        _Trait("ways compared", _ways(plan), f"{plan.arms.A.label} against {plan.arms.B.label}"),
    )


def _scale(outcome: Outcome) -> object:
    """Graded scales must have the same ends; a measured number has its unit."""
    return (outcome.low, outcome.high) if outcome.kind in ("ordinal", "count") else None


def _window(plan: Plan) -> object:
    healed = plan.healed
    return (healed.earliest, healed.latest) if plan.primary.table == "healed" else None


def _window_words(plan: Plan) -> str:
    healed = plan.healed
    window = f"healed, day {healed.earliest} to {healed.latest}"
    return window if plan.primary.table == "healed" else "on the day"


def _ways(plan: Plan) -> object:
    """Name the ways by the ready question; without one by their labels, in either order."""
    return plan.study.library or frozenset(_labels(plan))


def _labels(plan: Plan) -> tuple[str, str]:
    return plan.arms.A.label.casefold().strip(), plan.arms.B.label.casefold().strip()


def _differences(own: Sequence[_Trait], first: Sequence[_Trait]) -> Iterator[str]:
    for mine, theirs in zip(own, first, strict=True):
        if mine.compared != theirs.compared:
            yield f"other {mine.name}: {mine.words}, not {theirs.words}"


def _swapped(plan: Plan, first: Plan) -> str:
    mine, theirs = _labels(plan), _labels(first)
    if mine[0] == theirs[1] or mine[1] == theirs[0]:
        return "A and B are the other way round, so its differences have the other sign"
    return ""


def _other_names(pack: Reported, first: Reported) -> Iterator[str]:
    if _labels(pack.findings.plan) != _labels(first.findings.plan):
        arms = pack.findings.plan.arms
        yield (
            f"{pack.label} names its ways otherwise ({arms.A.label}; {arms.B.label}): read its "
            "plan before you trust that they are the same."
        )


def _two_questions(
    traits: Sequence[tuple[_Trait, ...]], keys: list[tuple[object, ...]], pair: Sequence[object]
) -> str:
    one, other = (traits[keys.index(key)] for key in pair)  # type: ignore[arg-type]
    return "These packs ask different questions: " + "; ".join(_differences(other, one)) + "."


def _question(same: Sequence[Reported]) -> Question:
    plan = same[0].findings.plan
    largest = max(pack.findings.plan.primary.worthwhile for pack in same)
    own = all(pack.findings.plan.primary.worthwhile_own for pack in same)
    return Question(
        text=plan.study.question,
        outcome=replace(plan.primary, worthwhile=largest, worthwhile_own=own),
        design=plan.study.design,
        lid=plan.study.lid,
        labels=(plan.arms.A.label, plan.arms.B.label),
        invented=any(pack.findings.plan.study.invented for pack in same),
    )
