"""The spread that an earlier study saw, with the caution that its few clients ask for."""

from dataclasses import dataclass
from math import sqrt

from pmulab.counting import counted
from pmulab.errors import UserError
from pmulab.findings import ArmSummary, Effect, Findings
from pmulab.plan import Plan
from pmulab.sizing.spreads import cautious_sd, cautious_share, sd_from_share

_MOST_CLIENTS = 100_000
_OR_ELSE = "Name another study, or give the spread yourself: --sd (for yes/no: --share)"


@dataclass(frozen=True, slots=True)
class Spread:
    """A spread to plan with.

    Parameters
    ----------
    sd : float
        In the unit of the primary outcome (yes/no: percentage points), already cautious.
    source : str
        Where it comes from and what was seen there, in plain words.
    """

    sd: float
    source: str


def spread_seen(findings: Findings, plan: Plan) -> Spread:
    """Take the spread of the plan's primary outcome from the findings of an earlier study.

    Parameters
    ----------
    findings : Findings
        Of another study; may come from anybody, so that every number is looked at.
    plan : Plan
        Of the study to be sized.

    Returns
    -------
    Spread
        The upper 80 % limit of the spread seen (`cautious_sd`), or for yes/no the spread that
        goes with the cautious limit of the share seen (`cautious_share`).

    Raises
    ------
    UserError
        If the earlier study has no outcome of that name in the same unit and design, or no
        usable spread of it.
    """
    effect = _same_outcome(findings, plan)
    place = f"the earlier study {findings.plan.study.code}"
    if findings.plan.study.invented:
        place += " (invented data: only to try this out)"
    return spread_of(effect, plan, place)


def spread_of(effect: Effect, plan: Plan, place: str = "this study") -> Spread:
    """Take a cautious spread from an outcome that was seen.

    Parameters
    ----------
    effect : Effect
    plan : Plan
        With that outcome as its primary one.
    place : str
        What it was seen in.

    Returns
    -------
    Spread

    Raises
    ------
    UserError
        If there is no usable spread.
    """
    if plan.primary.yes_no:
        share, seen = _share(effect, plan)
        return Spread(
            sd_from_share(plan, share),
            f"cautious limit of {share:.3g} % for a share: {seen} in {place}",
        )
    sd, n, freedom = _numbers(effect, plan)
    return Spread(
        cautious_sd(sd, freedom + 1),
        f"upper limit of a spread of {sd:.3g} {plan.primary.unit}, seen in "
        f"{counted(n, 'client')} of {place}",
    )


def _same_outcome(findings: Findings, plan: Plan) -> Effect:
    wanted, design = plan.primary, findings.plan.study.design
    if design != plan.study.design:
        raise UserError(
            f"The earlier study compares {_words(design)}, this one {_words(plan.study.design)}: "
            "their spreads are not the same thing.",
            _OR_ELSE,
        )
    for effect in findings.effects:
        if effect.outcome.name != wanted.name:
            continue
        there = effect.outcome
        if there.unit != wanted.unit or there.yes_no != wanted.yes_no:
            raise UserError(
                f"'{wanted.name}' was recorded otherwise in the earlier study: "
                f"{there.kind} in {there.unit!r}, here {wanted.kind} in {wanted.unit!r}.",
                _OR_ELSE,
            )
        return effect
    names = ", ".join(effect.outcome.name for effect in findings.effects)
    raise UserError(
        f"The earlier study has no outcome '{wanted.name}'; it has {names}.",
        _OR_ELSE,
    )


def _numbers(effect: Effect, plan: Plan) -> tuple[float, int, int]:
    """Give spread, clients and degrees of freedom of an outcome in numbers."""
    if plan.within_person:
        sd, n = effect.sd_of_differences, effect.difference.n
        if sd is None:
            raise _no_spread(plan)
        _refuse_impossible(sd >= 0 and 0 <= n <= _MOST_CLIENTS)
        return sd, n, n - 1
    n = effect.a.n + effect.b.n
    squares = [_squares(arm, plan) for arm in (effect.a, effect.b)]
    return sqrt(sum(squares) / (n - 2)), n, n - 2


def _squares(arm: ArmSummary, plan: Plan) -> float:
    """Give the sum of squares around the mean of one arm."""
    if arm.sd is None or arm.n < 2:
        raise _no_spread(plan)
    _refuse_impossible(0 <= arm.sd < 1e100 and arm.n <= _MOST_CLIENTS)
    return (arm.n - 1) * arm.sd**2


def _share(effect: Effect, plan: Plan) -> tuple[float, str]:
    """Give the cautious share of a yes/no outcome, in per cent, and what was counted."""
    if plan.within_person:
        counts = effect.counts
        if counts is None:
            raise _no_spread(plan)
        parts = (counts.a_better, counts.equal, counts.b_better)
        _refuse_impossible(min(parts) >= 0 and sum(parts) <= _MOST_CLIENTS)
        differ = counts.a_better + counts.b_better
        told = f"the two eyelids differed in {differ} of {counted(sum(parts), 'client')}"
        return cautious_share(plan, differ, sum(parts)), told
    arms = [_yes_of(arm, plan) for arm in (effect.a, effect.b)]
    # Which arm is the usual way is not written in a plan; the one that spreads more is taken.
    limits = [cautious_share(plan, yes, n) for yes, n in arms]
    chosen = min((0, 1), key=lambda index: abs(limits[index] - 50))
    yes, n = arms[chosen]
    return limits[chosen], f"{yes} of {counted(n, 'client')} with a yes under arm {'AB'[chosen]}"


def _yes_of(arm: ArmSummary, plan: Plan) -> tuple[int, int]:
    if arm.mean is None:
        raise _no_spread(plan)
    _refuse_impossible(0 <= arm.mean <= 100 and 0 <= arm.n <= _MOST_CLIENTS)
    return round(arm.mean * arm.n / 100), arm.n


def _no_spread(plan: Plan) -> UserError:
    return UserError(f"The earlier study gives no spread of '{plan.primary.name}'.", _OR_ELSE)


def _refuse_impossible(possible: bool) -> None:
    if not possible:
        raise UserError(
            "The findings of the earlier study hold numbers that cannot be.",
            "Ask whoever gave you the file, or make it anew: pmulab analyse FOLDER",
        )


def _words(design: str) -> str:
    return "two eyelids of one client" if design == "within-person" else "clients with clients"
