"""From the answers of a round to rows of the healed table."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from pmulab.allocation import Side
from pmulab.scoring.answers import QUALITY, Sheet
from pmulab.scoring.questions import Question, not_asked
from pmulab.scoring.rounds import Key
from pmulab.tables.fields import Table

NOT_DONE = "NA_not_done"
NOT_ASKED = "NA_not_applicable"


@dataclass(frozen=True, slots=True)
class Judgement:
    """What one assessor said of one eyelid, once.

    Parameters
    ----------
    number : int
        Of the round.
    client_code : str
    side : {'L', 'R'}
    visit_no : int
    assessor : str
    operator : bool
        True when the assessor did the work herself.
    look : {1, 2}
    photo_code, day : str
    answers : mapping of question to value
        `photo_quality` alone when the photo could not be judged.
    guess : str
        'A', 'B', 'no_idea', or '' when none was given.
    """

    number: int
    client_code: str
    side: Side
    visit_no: int
    assessor: str
    operator: bool
    look: int
    photo_code: str
    day: str
    answers: Mapping[str, str]
    guess: str

    @property
    def eyelid(self) -> tuple[int, str, Side, int]:
        """What was judged: round, client, side and visit."""
        return self.number, self.client_code, self.side, self.visit_no


def judgements(key: Key, sheets: Sequence[Sheet]) -> tuple[Judgement, ...]:
    """Say which eyelid each answer is about.

    Parameters
    ----------
    key : Key
    sheets : sequence of Sheet

    Returns
    -------
    tuple of Judgement
        Pictures that an assessor left out are left out.
    """
    return tuple(
        Judgement(
            key.number,
            *one.photo,
            sheet.assessor,
            sheet.operator,
            one.look,
            one.code,
            one.day,
            sheet.photos[one.code],
            sheet.guesses.get(one.code, ""),
        )
        for sheet in sheets
        for one in key.showings
        if sheet.photos.get(one.code)
    )


def healed_rows(
    found: Sequence[Judgement], table: Table, asked: tuple[Question, ...]
) -> pd.DataFrame:
    """Write judgements as rows of the healed table.

    Parameters
    ----------
    found : sequence of Judgement
    table : Table
        The healed table of the study.
    asked : sequence of Question

    Returns
    -------
    DataFrame
        Text, columns in the order of the table; a value that was not asked or not given carries
        its reason.
    """
    other = dict.fromkeys(not_asked(table, asked), NOT_ASKED)
    rows = [dict(_row(one, asked, other)) for one in found]
    used = {name for row in rows for name in row}
    return pd.DataFrame(rows, columns=[name for name in table.names if name in used])


def _row(
    one: Judgement, asked: tuple[Question, ...], other: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    yield from other.items()
    yield from {
        "client_code": one.client_code,
        "side": one.side,
        "visit_no": str(one.visit_no),
        "rater_code": one.assessor,
        "look_no": str(one.look),
        "healed_date": one.day,
        "seen": "photo_only",
        "rater_is_operator": "yes" if one.operator else "no",
        "blinded": "yes",
        "guess_arm": one.guess or NOT_DONE,
        "photo_code": one.photo_code,
        QUALITY: one.answers.get(QUALITY, "ok"),
    }.items()
    for question in asked:
        yield question.name, one.answers.get(question.name, NOT_DONE)
