"""Take in the answers of a round: checked first, then its key is opened, once."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from pmulab.disk import read_bytes
from pmulab.errors import UserError
from pmulab.findings import Scoring
from pmulab.scoring import Sheet, healed_rows, judgements, merge_check, questions, read_answer_file
from pmulab.stations.answer import Answer
from pmulab.stations.check import records_of
from pmulab.stations.opening import Opened, alarms, opened
from pmulab.stations.rounds import OPENED, Round, rounds, the_round
from pmulab.stations.scoring_found import scoring_of
from pmulab.study import Study
from pmulab.tables import Problem
from pmulab.wording import scoring_lines


@dataclass(frozen=True, slots=True)
class _Handed:
    """A file of answers as it was handed in, and what it holds."""

    where: str
    content: bytes
    sheet: Sheet


def collect_scores(
    study: Opened,
    files: Sequence[str | Path] = (),
    number: int | None = None,
    *,
    unfinished: bool = False,
) -> Answer[Scoring | None]:
    """Take in all answers of a round, open its key, and write its healed rows.

    Parameters
    ----------
    study : Study or path-like
    files : sequence of path-like
        What the scoring page saved, one file an assessor; answers given in the notebook are
        in the study folder already.
    number : int, optional
        Of the round; the first one that was not collected yet if not given.
    unfinished : bool, default=False
        Take answers although some are still open; they stay open for good.

    Returns
    -------
    Answer
        Its value says how well looks and assessors agree. No arm is shown.

    Raises
    ------
    UserError
        If a file is no answer to this round, two are of one assessor, answers are open, or the
        key was opened before: whoever answers later may know the arms.
    """
    folder = opened(study)
    with folder.writing():
        one = _waiting(folder, number)
        if one.opened is None:
            handed = _handed(folder, one, files)
            _refuse_open(handed, unfinished)
            _keep_answers(folder, one, handed)
            _open_key(folder, one, [each.sheet for each in handed])
        one = the_round(folder, one.number)
        rows = _rows(folder, one, one.sheets(folder))
        path = folder.keep(one.healed, rows)
    records, report = records_of(folder)
    found = scoring_of(folder, records)
    lines = [
        *alarms(folder),
        f"Round {one.number} is collected; its key was opened and stays so. No arm is shown here.",
        *(scoring_lines(found) if found else ()),
        *_clashes(report.problems, path.name),
    ]
    return Answer(tuple(lines), found, (path,), {"round": one.number}, found_problems=report.blocks)


def _waiting(study: Study, number: int | None) -> Round:
    """Give the round to collect; one whose rows a crash kept from being written is finished."""
    open_ones = [one.number for one in rounds(study) if not study.path(one.healed).exists()]
    one = the_round(study, number or next(iter(open_ones), None))
    if study.path(one.healed).exists():
        when = f" on {one.opened.time[:10]}" if one.opened else ""
        raise UserError(
            f"Round {one.number} was collected{when}. Whoever answers now may know the arms.",
            "For further answers prepare a new round of the same photos (--again), and give each "
            "assessor a fresh code. Nothing was changed.",
        )
    return one


def _handed(study: Study, one: Round, files: Sequence[str | Path]) -> list[_Handed]:
    """Read every file of answers; those of the notebook lie in the round already."""
    expected = one.expected(study)
    inside = sorted(study.path(f"{one.folder}/answers").glob("*.json"))
    contents = {path: read_bytes(path) for path in inside}
    for path in map(Path, files):
        content = read_bytes(path)
        if content not in contents.values():
            contents[path] = content
    if not contents:
        raise UserError(
            f"There are no answers to round {one.number} yet.",
            "Score in notebook 03, or name the files that the scoring page saved.",
        )
    handed = [
        _Handed(path.name, content, read_answer_file(content, expected, path.name))
        for path, content in contents.items()
    ]
    merge_check([(each.where, each.sheet) for each in handed])
    return sorted(handed, key=lambda each: each.sheet.assessor)


def _refuse_open(handed: Sequence[_Handed], unfinished: bool) -> None:
    still = [each for each in handed if each.sheet.open]
    if still and not unfinished:
        told = "; ".join(
            f"{each.sheet.assessor} ({each.where}): {each.sheet.open} open" for each in still
        )
        raise UserError(
            f"Not every answer is given: {told}.",
            "Open the page again with the same code: it goes on where it stopped. If nothing more "
            "will come, collect with --unfinished; open answers then stay open. The key is still "
            "sealed.",
        )


def _keep_answers(study: Study, one: Round, handed: Sequence[_Handed]) -> None:
    for each in handed:
        study.keep_progress(one.answers(each.sheet.assessor), each.content)


def _open_key(study: Study, one: Round, sheets: Sequence[Sheet]) -> None:
    """Write down what is opened and what comes out of it, before it is written."""
    rows = _rows(study, one, sheets)
    names = [one.answers(sheet.assessor) for sheet in sheets]
    study.record(
        OPENED,
        round=one.number,
        assessors=[sheet.assessor for sheet in sheets],
        sealed_files={name: study.file_hash(name) for name in names}
        | {one.healed: sha256(rows).hexdigest()},
    )


def _rows(study: Study, one: Round, sheets: Sequence[Sheet]) -> bytes:
    plan = study.plan()
    found = judgements(one.key(study), sheets)
    frame = healed_rows(found, plan.tables()["healed"], questions(plan))
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(frame.columns)
    writer.writerows(frame.fillna("").to_numpy().tolist())
    return out.getvalue().encode()


def _clashes(problems: Sequence[Problem], name: str) -> Iterator[str]:
    """Point to values of the round that differ from what was typed."""
    found = sum(one.code == "files_disagree" and one.file == name for one in problems)
    if found:
        yield (
            f"{found} values of this round differ from rows that were typed for the same "
            "eyelid, visit and assessor. Nothing was overwritten; see them with: pmulab check"
        )
