"""Answer 'how many clients?'."""

from dataclasses import replace
from os import PathLike
from pathlib import Path

from pmulab.analysis.looking import can_decide, widening
from pmulab.counting import counted
from pmulab.disk import typed
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.sizing import (
    Sizes,
    Spread,
    cautious_sd,
    cautious_share,
    guesses,
    sd_from_share,
    sizes,
    spread_seen,
)
from pmulab.stations.answer import Answer
from pmulab.stations.earlier import findings_at
from pmulab.stations.opening import Opened, opened
from pmulab.wording import few_words
from pmulab.wording.plans import telling_lines
from pmulab.wording.sizes import guessed_lines, size_details, size_lines


def size(  # noqa: PLR0913 (each is an option of the command)
    study: Opened,
    sd: float | None = None,
    share: float | None = None,
    pilot: int | None = None,
    *,
    earlier: str | PathLike[str] | None = None,
    worthwhile: float | None = None,
    details: bool = False,
) -> Answer[tuple[Sizes, ...]]:
    """Say what 4 to 40 clients could show for the plan of a study.

    Parameters
    ----------
    study : Study or path-like
    sd : float, optional
        Spread of the primary outcome, in its unit: of the differences within a client, or
        between the clients of an arm.
    share : float, optional
        For yes/no outcomes instead of `sd`, per cent: of clients whose eyelids would differ, or
        of 'yes' with the usual way.
    pilot : int, optional
        Clients that the spread or share was measured on; a cautious limit is then used.
    earlier : path-like, optional
        Instead of these: the folder or findings.json of an earlier study of the same design
        with an outcome of the same name and unit; a cautious limit of its spread is used.
    worthwhile : float, optional
        Try another smallest worthwhile difference; the plan itself is not changed.
    details : bool, default=False
        Also show a table of what each number of clients could tell.

    Returns
    -------
    Answer
        Its value holds one answer a spread: one when it is known, three guesses when not.

    Raises
    ------
    UserError
        If a number does not fit, more than one spread is given, or the earlier study cannot be
        read or has no such outcome.
    """
    place = opened(study)
    plan = _tried(place.plan(), worthwhile)
    spread = _spread(plan, sd, share, pilot, earlier)
    if spread is None:
        answers = tuple(sizes(plan, guess, "a guess") for guess in guesses(plan))
        lines = [*guessed_lines(answers, plan), _how_to_know(place.folder)]
    else:
        answers = (sizes(plan, spread.sd, spread.source),)
        lines = list(size_lines(answers[0], plan))
    lines += [few_words(plan), *_cost_of_looking(plan)]
    if details:
        lines += [line for one in answers for line in ("", *size_details(one, plan))]
    else:
        lines.append(
            "What 4 to 40 clients could show: add --details (in a notebook: details=True)."
        )
    lines += telling_lines(plan)  # before the plan is locked and stays as it is
    return Answer(tuple(lines), answers, data={"sizes": [one.to_dict() for one in answers]})


def _how_to_know(folder: Path) -> str:
    here = typed(folder)
    return (
        "Four rehearsal clients, not counted in the study, give a first idea: pmulab size "
        f"{here} --sd NUMBER --pilot 4. So does an earlier study: pmulab size {here} --earlier "
        "ITS-FOLDER"
    )


def _cost_of_looking(plan: Plan) -> list[str]:
    if plan.analysis.after_every_client:
        return [
            "The plan lets you compare after every client: that takes half to two thirds more "
            "clients than said here."
        ]
    if not plan.analysis.looks:
        return []
    wider = widening(plan)
    idle = [str(look) for look in plan.analysis.looks if not can_decide(plan, look)]
    return [
        *(
            [
                f"A look at {' or '.join(idle)} clients can decide nothing: so few cannot reach "
                "its limit, whatever they show. Leave it out, or look later."
            ]
            if idle
            else []
        ),
        f"The planned early looks make the final interval {wider - 1:.1%} wider; that is made up "
        f"for by {wider**2 - 1:.0%} more clients.",
    ]


def _tried(plan: Plan, worthwhile: float | None) -> Plan:
    if worthwhile is None:
        return plan
    if not 0 < worthwhile < float("inf"):
        raise UserError(
            f"A smallest worthwhile difference of {worthwhile:g} cannot be used.",
            "Give a number above 0.",
        )
    return replace(plan, primary=replace(plan.primary, worthwhile=worthwhile))


def _spread(
    plan: Plan,
    sd: float | None,
    share: float | None,
    pilot: int | None,
    earlier: str | PathLike[str] | None,
) -> Spread | None:
    """Choose the spread to plan with; None when nothing is known."""
    if sd is not None and share is not None:
        raise UserError("Both --sd and --share were given.", "Give only one of them.")
    if earlier is not None:
        if not (sd is share is pilot is None):
            raise UserError(
                "--earlier was given together with --sd, --share or --pilot.",
                "Give only --earlier: the spread and its number of clients come from there.",
            )
        return spread_seen(findings_at(str(earlier)), plan)
    if share is not None:
        return _from_share(plan, share, pilot)
    if sd is not None and pilot is not None:
        source = f"upper limit of a spread of {sd:g} seen in {counted(pilot, 'client')}"
        return Spread(cautious_sd(sd, pilot), source)
    if sd is not None:
        return Spread(sd, "as given")
    if pilot is not None:
        raise UserError(
            "--pilot was given without --sd.",
            "Give the spread you saw with --sd, or for yes/no the share with --share.",
        )
    return None


def _from_share(plan: Plan, share: float, pilot: int | None) -> Spread:
    if not plan.primary.yes_no:
        raise UserError(
            f"--share is for yes/no measures; {plan.primary.title} is measured in "
            f"{plan.primary.unit}.",
            "Give the spread in that unit instead: --sd",
        )
    if pilot is None:
        return Spread(sd_from_share(plan, share), f"from a share of {share:g} %")
    if not 0 <= share <= 100:
        raise UserError(f"A share of {share:g} % does not fit.", "Give per cent, 0 to 100.")
    cautious = cautious_share(plan, round(share / 100 * pilot), pilot)
    seen_in = counted(pilot, "client")
    source = f"cautious limit of {cautious:.3g} % for a share of {share:g} % in {seen_in}"
    return Spread(sd_from_share(plan, cautious), source)
