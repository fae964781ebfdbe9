"""Answer 'how many clients?'."""

from dataclasses import replace

from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.sizing import Sizes, cautious_sd, guesses, sd_from_share, sizes
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened


def size(
    study: Opened,
    sd: float | None = None,
    share: float | None = None,
    pilot: int | None = None,
    *,
    worthwhile: float | None = None,
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
        Clients that the spread was measured on; a cautious upper limit is then used.
    worthwhile : float, optional
        Try another smallest worthwhile difference; the plan itself is not changed.

    Returns
    -------
    Answer
        Its value holds one answer a spread: one when it is known, three guesses when not.

    Raises
    ------
    UserError
        If a number does not fit, or sd and share are both given.
    """
    plan = _tried(opened(study).plan(), worthwhile)
    if sd is not None and share is not None:
        raise UserError("Both --sd and --share were given.", "Give only one of them.")
    if share is not None:
        sd, source = sd_from_share(plan, share), f"from a share of {share:g} %"
    elif sd is not None:
        source = "as given"
    if sd is None:
        if pilot is not None:
            raise UserError("--pilot was given without --sd.", "Give the spread you saw: --sd")
        answers = tuple(sizes(plan, guess, "a guess") for guess in guesses(plan))
    else:
        if pilot is not None:
            sd, source = cautious_sd(sd, pilot), f"upper limit of a spread seen in {pilot} clients"
        answers = (sizes(plan, sd, source),)
    lines = [line for one in answers for line in _lines(one)]
    if sd is None:
        lines.append(
            "No spread was given, so three guesses are shown. Four rehearsal clients, not "
            "counted in the study, give a first idea: pmulab size FOLDER --sd NUMBER --pilot 4"
        )
    return Answer(tuple(lines), answers, data={"sizes": [one.to_dict() for one in answers]})


def _tried(plan: Plan, worthwhile: float | None) -> Plan:
    if worthwhile is None:
        return plan
    if not 0 < worthwhile < float("inf"):
        raise UserError(
            f"A smallest worthwhile difference of {worthwhile:g} cannot be used.",
            "Give a number above 0.",
        )
    return replace(plan, primary=replace(plan.primary, worthwhile=worthwhile))


def _lines(found: Sizes) -> list[str]:
    unit = found.unit
    head = f"If values spread by {found.sd:.3g} {unit} ({found.sd_source}; standard deviation):"
    table = [f"{'clients':>8}  {'interval +/-':>12}  {'4 in 5 within +/-':>17}  {'power':>6}"]
    table += [
        f"{row.clients:>8}  {row.half_width:>12.2f}  {row.assured:>17.2f}  {row.power:>6.0%}"
        + ("" if row.narrow_enough else "   too wide to say 'no worthwhile difference'")
        for row in found.rows
    ]
    columns = (
        "(interval +/-: what to expect on average; 4 in 5 within: what four studies of five stay "
        "under; power: how often a true difference of just that size would be seen)"
    )
    foot = (
        f"An interval no wider than +/- {found.worthwhile:g} {unit}: about {found.by_width} "
        f"clients ({found.by_width_assured} to be fairly sure of it); with losses, enrol "
        f"{found.to_enrol} for that. To see a true difference of {found.worthwhile:g} {unit} "
        f"four times in five: {found.by_power}."
    )
    return [head, *table, columns, foot, ""]
