"""Replay the invented demonstration from the question to the handout."""

from datetime import UTC, datetime, time, timedelta
from pathlib import Path

from pmulab.allocation import Side
from pmulab.demo import Scenario, scenario
from pmulab.demo.cases import HEALED_AFTER, STARTED
from pmulab.demo.lids import drawn_lid
from pmulab.demo.photographs import drawn_photos
from pmulab.demo.scores import SEED, invented_answers, kept_by_eyelid
from pmulab.disk import typed
from pmulab.folders import made_aside
from pmulab.stations.analyse import FINDINGS, analyse
from pmulab.stations.answer import Answer
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import HANDOUT, handout
from pmulab.stations.lock import lock_with
from pmulab.stations.measure import measure
from pmulab.stations.opening import expectations
from pmulab.stations.photos import mark_photo, take_photo_bytes
from pmulab.stations.rounds import rounds
from pmulab.stations.score_collect import collect_scores
from pmulab.stations.score_prepare import PHOTOS, Wishes, prepare_as_wished
from pmulab.study import RECORDS, Study, begin
from pmulab.tables.workbook import workbook_bytes

FIRST_TYPED = "records-as-first-typed.xlsx"
_SIDES: tuple[Side, Side] = ("L", "R")
_DRAWN = "These pictures are drawn and invented: they show nobody.\n"


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
        If the folder is there and not empty.
    """
    place, calendar = Path(folder).expanduser(), _Calendar()
    with made_aside(place) as made:
        lines = _replayed(made, calendar)
    files = tuple(place / name for name in (FINDINGS, HANDOUT))
    lines += ["", f"Next: open {place / HANDOUT} in a browser, or pmulab lab {typed(place)}"]
    return Answer(tuple(lines), Study(place, calendar), files)


def _replayed(folder: Path, calendar: _Calendar) -> list[str]:
    told = scenario()
    study = begin(folder, told.plan, calendar)
    lines = ["INVENTED DATA: no such studio and no such clients exist.", ""]
    lines += _planned(study, told, calendar)
    lines += _recorded(study, told, calendar)
    lines += _scored(study, told)
    found = analyse(study)
    page = handout(study, made_by="Demo studio Orvane (invented)")
    return [*lines, "6. Analysed:", *found.lines, "", "7. Shared:", *page.lines]


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


def _scored(study: Study, told: Scenario) -> list[str]:
    """Draw the healed eyelids, have them scored by three invented assessors, collect."""
    from pmulab.photo.reading import written_jpeg

    kept = kept_by_eyelid(told.cases)
    photos = {
        f"{case.client_code}_{side}_1_{case.date(HEALED_AFTER)}.jpg": written_jpeg(
            drawn_lid(side, kept[case.client_code, side], SEED + 2 * place + (side == "L"))
        )
        for place, case in enumerate(told.cases)
        if case.seen
        for side in _SIDES
    }
    with study.writing():
        study.keep_folder(PHOTOS, {**photos, "INVENTED.txt": _DRAWN.encode()})
    prepared = prepare_as_wished(study, Wishes(seed=SEED))
    answers = invented_answers(rounds(study)[0].key(study), told.cases)
    with study.writing():
        files = [study.keep(f"scores-from-{code}.json", text) for code, text in answers.items()]
    collected = collect_scores(study, files)
    return [
        f"5. Scored blind: {prepared.lines[0]}",
        *(f"   {line}" for line in prepared.lines[1:2]),
        *(f"   {line}" for line in collected.lines[1:]),
        "",
    ]


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
