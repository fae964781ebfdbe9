"""Replay the invented demonstration from the question to the handout."""

from datetime import UTC, datetime, time, timedelta
from pathlib import Path

from pmulab.demo import Scenario, scenario
from pmulab.demo.photographs import drawn_photos
from pmulab.demo.scenario import HEALED_AFTER, STARTED
from pmulab.stations.analyse import analyse
from pmulab.stations.answer import Answer
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.lock import lock_with
from pmulab.stations.measure import measure
from pmulab.stations.opening import expectations
from pmulab.stations.photos import mark_photo, take_photo_bytes
from pmulab.study import RECORDS, Study, begin
from pmulab.tables.workbook import workbook_bytes

FIRST_TYPED = "records-as-first-typed.xlsx"


class _Calendar:
    """A clock that is set by hand, so that the replay carries the invented dates."""

    def __init__(self) -> None:
        self.day = -7

    def __call__(self) -> datetime:
        moment = datetime.combine(STARTED, time(9, 0), tzinfo=UTC)
        return moment + timedelta(days=self.day)


def demo(folder: str | Path) -> Answer[Study]:
    """Make the demonstration study and take it through every station.

    Parameters
    ----------
    folder : path-like
        A new folder.

    Returns
    -------
    Answer
        Its value is the study.

    Raises
    ------
    UserError
        If the folder already holds a study.
    """
    told, calendar = scenario(), _Calendar()
    study = begin(Path(folder), told.plan, calendar)
    lines = ["INVENTED DATA: no such studio and no such clients exist.", ""]
    lines += _planned(study, told, calendar)
    lines += _recorded(study, told, calendar)
    found = analyse(study)
    page = handout(study, made_by="Demo studio Orvane (invented)")
    lines += ["5. Analysed:", *found.lines, "", "6. Shared:", *page.lines]
    lines += ["", f"Next: open {page.value} in a browser, or pmulab lab {study.folder}"]
    return Answer(tuple(lines), study, (*found.files, *page.files))


def _planned(study: Study, told: Scenario, calendar: _Calendar) -> list[str]:
    plan = study.plan_as_written()
    locked = lock_with(study, plan, told.schedule)
    lines = [f"1. Asked: {plan.study.question}", f"2. {locked.lines[0]}"]
    enrolled = 0
    for asked in told.asked:
        calendar.day = asked.day
        enrolled += enrol(study, asked.client_code, asked.answers).value is not None
    lines.append(
        f"3. {len(told.asked)} clients asked, {enrolled} enrolled; "
        "each card was opened only after eligibility and consent were saved."
    )
    return lines


def _recorded(study: Study, told: Scenario, calendar: _Calendar) -> list[str]:
    plan = study.plan()
    expected = expectations(plan, study.assignments())
    last = max(asked.day for asked in told.asked)
    calendar.day = last + HEALED_AFTER + 1
    first = workbook_bytes(plan.tables(), expected, told.as_first_typed)
    typed = study.keep(FIRST_TYPED, first)
    with_mistake = check(study, typed)
    mistake = [p for p in with_mistake.value.problems if p.severity == "blocks analysis"]
    blank = next(e.detail["workbook"] for e in study.journal() if e.event == "plan locked")
    study.fill_blank(RECORDS, workbook_bytes(plan.tables(), expected, told.mended), blank)
    measured = _photographed(study)
    clean = check(study)
    return [
        f"4. Recorded and checked: {FIRST_TYPED} has {len(mistake)} problem to mend:",
        *(f"   sheet {p.sheet}, row {p.row}, {p.column}: {p.what} {p.remedy}" for p in mistake),
        f"   mended in {RECORDS}: {clean.value.summary}",
        measured,
        "",
    ]


def _photographed(study: Study) -> str:
    drawn = drawn_photos()
    for photo in drawn:
        take_photo_bytes(study, photo.jpeg, photo.code)
        if photo.marks is not None:
            mark_photo(study, photo.code, photo.marks)
    shots = measure(study).value
    refused = sum(bool(shot.reading.refusals) for shot in shots)
    return (
        f"   {len(drawn)} drawn photos taken in, {len(shots)} marked, "
        f"{len(shots) - refused} measured, {refused} refused: see photos/measured.html"
    )
