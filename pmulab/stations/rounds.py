"""The scoring rounds that lie in a study folder, with what ties them to its journal."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pmulab.disk import read_bytes, read_text
from pmulab.errors import UserError
from pmulab.plan import Plan
from pmulab.scoring.answers import QUALITY, Expected, Sheet, read_answer_file
from pmulab.scoring.questions import questions
from pmulab.scoring.rounds import Key, open_key
from pmulab.study import Entry, Study

BEGUN, PREPARED, OPENED = "scoring round begun", "scoring round prepared", "scoring key opened"
KEY, PUBLIC = "key.json", "round.json"


@dataclass(frozen=True, slots=True)
class Round:
    """One prepared round.

    Parameters
    ----------
    number : int
    secret : str
        Opens its key.
    opened : Entry or None
        The line of the journal that says that its key was opened.
    """

    number: int
    secret: str
    opened: Entry | None = None

    @property
    def folder(self) -> str:
        """Its folder below the study folder."""
        return f"scoring/{self.name}"

    @property
    def name(self) -> str:
        """Such as 'round-01'."""
        return f"round-{self.number:02d}"

    @property
    def page(self) -> str:
        """Name of its scoring page."""
        return f"{self.folder}/score-{self.name}.html"

    @property
    def healed(self) -> str:
        """Name of its healed rows."""
        return f"{self.folder}/healed-{self.name}.csv"

    def answers(self, assessor: str) -> str:
        """Name of the answers of one assessor."""
        return f"{self.folder}/answers/{assessor}.json"

    def key(self, study: Study) -> Key:
        """Open the sealed key; whoever calls this shows nothing of it to an assessor."""
        path = study.path(f"{self.folder}/{KEY}")
        return open_key(read_text(path), self.secret, str(path))

    def public(self, study: Study) -> dict[str, Any]:
        """Give what an assessor may see."""
        path = study.path(f"{self.folder}/{PUBLIC}")
        content: dict[str, Any] = json.loads(read_text(path))
        return content

    def expected(self, study: Study) -> Expected:
        """Say what answers to this round can be."""
        key, plan = self.key(study), study.plan()
        return Expected(
            key.id,
            tuple(one.code for one in key.showings),
            tuple(one.code for one in key.pairs),
            questions(plan),
            refusals(plan),
        )

    def sheets(self, study: Study) -> tuple[Sheet, ...]:
        """Read the answers that were collected with this round."""
        if self.opened is None:
            return ()
        expected = self.expected(study)
        names = (self.answers(code) for code in self.opened.detail["assessors"])
        return tuple(
            read_answer_file(read_bytes(path), expected, str(path))
            for path in map(study.path, names)
        )


def rounds(study: Study) -> tuple[Round, ...]:
    """List the prepared rounds of a study, in their order.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Round
        Without a round whose writing was cut short.
    """
    entries = study.journal()
    secrets = {e.detail["round"]: e.detail["secret"] for e in entries if e.event == BEGUN}
    opened = {e.detail["round"]: e for e in entries if e.event == OPENED}
    prepared = [e.detail["round"] for e in entries if e.event == PREPARED]
    return tuple(Round(number, secrets[number], opened.get(number)) for number in prepared)


def next_number(study: Study) -> int:
    """Give the number of the next round; a number is never used twice."""
    begun = [e.detail["round"] for e in study.journal() if e.event == BEGUN]
    return max(begun, default=0) + 1


def the_round(study: Study, number: int | None = None) -> Round:
    """Give one round.

    Parameters
    ----------
    study : Study
    number : int, optional
        The latest one if not given.

    Returns
    -------
    Round

    Raises
    ------
    UserError
        If there is no such round.
    """
    found = rounds(study)
    if not found:
        raise UserError(
            f"There is no scoring round in {study.folder} yet.",
            f"Prepare one: pmulab score prepare {study.folder}",
        )
    for one in found:
        if one.number == (number or found[-1].number):
            return one
    known = ", ".join(str(one.number) for one in found)
    raise UserError(f"There is no scoring round {number}.", f"There are: {known}.")


def scored_photos(study: Study) -> Iterator[tuple[str, str, int]]:
    """Give client, side and visit of every photo that is in a round already."""
    for one in rounds(study):
        for showing in one.key(study).showings:
            yield showing.photo


def refusals(plan: Plan) -> tuple[str, ...]:
    """Give the reasons for which a photo may be refused."""
    return tuple(one for one in plan.tables()["healed"][QUALITY].choices if one != "ok")
