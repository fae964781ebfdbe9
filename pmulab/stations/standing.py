"""Say how far a study has come and what to do next."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.stations.answer import Answer
from pmulab.stations.memory import waiting
from pmulab.stations.opening import Opened, opened
from pmulab.stations.pause import stop_of
from pmulab.stations.put_away import away
from pmulab.stations.put_back import PAUSE, missing_words
from pmulab.stations.reviews import still_open
from pmulab.stations.rounds import OPENED
from pmulab.study import JOURNAL, PLAN, Entry, Study
from pmulab.tables.harm_seen import Harm

Reached = Literal["plan", "lock", "enrol", "score", "analyse", "handout", "pack", "unreadable"]
_DEPTH = 2
_WORDS: dict[Reached, str] = {
    "plan": "being planned",
    "lock": "plan locked",
    "enrol": "clients are being enrolled",
    "score": "healed photos scored",
    "analyse": "analysed",
    "handout": "handout written",
    "pack": "pack made",
    "unreadable": "cannot be read",
}
_STEPS: dict[str, Reached] = {
    "plan locked": "lock",
    "client enrolled": "enrol",
    OPENED: "score",
    "analysed": "analyse",
    "handout written": "handout",
    "pack written": "pack",
}
_ORDER = tuple(_STEPS.values())


@dataclass(frozen=True, slots=True)
class Standing:
    """How far one study has come.

    Parameters
    ----------
    folder : str
        As it was asked for.
    title : str
    reached : {'plan', 'lock', 'enrol', 'score', 'analyse', 'handout', 'pack', 'unreadable'}
        The last station that was reached.
    enrolled, planned : int
        Clients.
    next_step : str
        What to do next, in words.
    """

    folder: str
    title: str
    reached: Reached
    enrolled: int
    planned: int
    next_step: str

    def __str__(self) -> str:
        return f"{self.folder}: {self.title}. Reached: {_WORDS[self.reached]}."


def standing(study: Opened) -> Answer[Standing]:
    """Say how far a study has come and what to do next; writes nothing.

    Parameters
    ----------
    study : Study or path-like

    Returns
    -------
    Answer

    Raises
    ------
    UserError
        If there is no study in the folder, or it cannot be read.
    """
    folder = opened(study)
    plan, entries = folder.plan(), folder.journal()
    enrolled = sum(entry.event == "client enrolled" for entry in entries)
    reached = _reached(entries)
    found = Standing(
        folder=folder.folder.as_posix(),
        title=plan.study.title,
        reached=reached,
        enrolled=enrolled,
        planned=plan.clients.planned,
        next_step=after_harm(folder)
        or _with_open_harm(
            _next_step(reached, enrolled >= plan.clients.planned, _scored_blind(plan)), entries
        ),
    )
    invented = ("Invented data for demonstration.",) if plan.study.invented else ()
    lines = (
        str(found),
        *invented,
        f"Enrolled: {enrolled} of {plan.clients.planned}.",
        f"Next: {found.next_step}",
    )
    return Answer(lines, found, data=asdict(found))


def studies(folder: str | Path = ".") -> Answer[tuple[Standing, ...]]:
    """List the studies in and below a folder; writes nothing.

    Parameters
    ----------
    folder : path-like, default='.'
        Searched two levels deep.

    Returns
    -------
    Answer
        Its value holds one standing a study, in the order of the folder names; those that were
        put away are only named.
    """
    top = Path(folder)
    hidden = away(top)
    found = tuple(
        _standing_of(place)
        for place in _places(top)
        if place.relative_to(top).as_posix() not in hidden
    )
    lines = tuple(str(one) for one in found) or (
        "There is no study here yet. Begin one: pmulab new FOLDER --question NAME",
    )
    if hidden:
        lines += (f"Put away from this list: {', '.join(sorted(hidden))}.",)
    data = {"studies": [asdict(one) for one in found], "put_away": sorted(hidden)}
    return Answer(lines, found, data=data)


def _places(top: Path) -> list[Path]:
    """Find the folders with a plan or what is left of a study, hidden ones left out."""
    patterns = [
        "/".join(["*"] * depth + [name]) for depth in range(_DEPTH + 1) for name in (PLAN, JOURNAL)
    ]
    found = {path.parent for pattern in patterns for path in top.glob(pattern)}
    return sorted(
        place
        for place in found
        if not any(part.startswith(".") for part in place.relative_to(top).parts)
    )


def _standing_of(place: Path) -> Standing:
    try:
        return standing(Study(place)).value
    except UserError as error:
        return Standing(place.as_posix(), error.what, "unreadable", 0, 0, error.remedy)


def _reached(entries: tuple[Entry, ...]) -> Reached:
    """Give the last station; scoring or analysing anew does not go back behind a later one."""
    reached: Reached = "plan"
    for entry in entries:
        step = _STEPS.get(entry.event)
        if step is None:
            continue
        goes_back = reached in _ORDER and _ORDER.index(step) < _ORDER.index(reached)
        if step == "enrol" or not goes_back:
            reached = step
    return reached


def _scored_blind(plan: Plan) -> bool:
    return any(outcome.judged == "blind" for outcome in plan.outcomes)


def after_harm(study: Study) -> str:
    """Say what comes before any other step once a study was stopped or somebody was harmed.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
        '' where nothing does.
    """
    entries = study.journal()
    stopped = stop_of(entries)
    if stopped is not None:
        from pmulab.wording import stopped_words

        return (
            f"{stopped_words(stopped.time[:10])} Record it (notebook 02), then hand on what was "
            "found (notebook 06)."
        )
    harm = waiting(entries)
    return missing_words(study) or (pause_words(harm) if harm else "")


def pause_words(harm: tuple[Harm, ...]) -> str:
    """Say that nobody else is worked on until harm was reviewed.

    Parameters
    ----------
    harm : tuple of Harm

    Returns
    -------
    str
    """
    return (
        f"{PAUSE} {'; '.join(dict.fromkeys(map(str, harm)))}. Nobody else is worked on in this "
        "study until a physician and those who allowed it have reviewed this (notebook 02)."
    )


def _with_open_harm(step: str, entries: tuple[Entry, ...]) -> str:
    return " ".join(filter(None, (step, still_open(entries))))


def _next_step(reached: Reached, full: bool, blind: bool) -> str:
    if reached == "enrol" and full and blind:
        return (
            "Record what is still missing and check it (notebook 02), score the healed photos "
            "blind (03), then analyse (05)."
        )
    if reached in ("enrol", "score") and full:
        return "Record what is still missing and check it (notebook 02), then analyse (05)."
    return {
        "plan": "Finish the plan and lock it (notebook 01).",
        "lock": "Enrol the first client (notebook 02).",
        "enrol": "Enrol, record and check the next client (notebook 02).",
        "score": "Enrol, record and check the next client (notebook 02).",
        "analyse": "Make the handout (notebook 06).",
        "handout": "Make the pack for the study group, whatever the finding says (notebook 07).",
        "pack": "Talk it over with the study group, and put the next question (notebook 01).",
        "unreadable": "",
    }[reached]
