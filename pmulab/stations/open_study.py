"""Open a study by the name of its folder; the demonstration is made when it is asked for."""

from pathlib import Path

from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.stations.answer import Answer
from pmulab.stations.opening import opened
from pmulab.study import PLAN

DEMO = "demo-study"


def open_study(study: str | Path = DEMO) -> Answer[Plan]:
    """Open a study; a folder named 'demo-study' is made if it is not there.

    Parameters
    ----------
    study : path-like, default='demo-study'

    Returns
    -------
    Answer
        Its value is the plan that holds.

    Raises
    ------
    UserError
        If there is no study in the folder.
    """
    place = Path(study)
    if place.name == DEMO and not (place / PLAN).exists():
        _make_demo(place)
    found = opened(place)
    plan = found.plan()
    locked = found.locked()
    lines = [
        f"{place.name}: {plan.study.title}",
        f"Question: {plan.study.question}",
        f"A: {plan.arms.A.label}. B: {plan.arms.B.label}. Main measure: {plan.primary.title}.",
        f"The plan was locked on {locked.time[:10]}." if locked else "The plan is not locked yet.",
    ]
    if plan.study.invented:
        lines.append("Invented data: no such studio and no such clients exist.")
    return Answer(tuple(lines), plan)


def _make_demo(place: Path) -> None:
    from pmulab.stations.demo import demo

    try:
        demo(place)
    except UserError:
        if not (place / PLAN).exists():  # another notebook may have made it meanwhile
            raise
