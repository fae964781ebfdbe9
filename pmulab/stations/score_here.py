"""Score a round in the notebook, and take in what assessors send back; the key stays sealed."""

import json
from collections.abc import Mapping
from typing import Any

from pmulab.counting import counted
from pmulab.disk import read_bytes
from pmulab.errors import UserError
from pmulab.scoring.answers import ASSESSOR, FORMAT, KIND, Sheet, read_answer_file
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened
from pmulab.stations.rounds import Round, rounds, the_round
from pmulab.study import Study


def waiting_rounds(study: Opened) -> tuple[int, ...]:
    """List the rounds whose key is still sealed.

    Parameters
    ----------
    study : Study or path-like

    Returns
    -------
    tuple of int
    """
    return tuple(one.number for one in rounds(opened(study)) if one.opened is None)


def score_here(
    study: Opened, assessor: str, operator: bool, number: int | None = None
) -> Answer[dict[str, Any]]:
    """Open the sheet of one assessor, as far as it was filled in.

    Parameters
    ----------
    study : Study or path-like
    assessor : str
        A code such as R2; never a name.
    operator : bool
        True when the assessor did any of the work herself.
    number : int, optional
        Of the round; the latest one if not given.

    Returns
    -------
    Answer
        Its value holds 'round' (all that an assessor may see) and 'answers'.

    Raises
    ------
    UserError
        If the code is no assessor code, or the key of the round was opened.
    """
    folder, code = opened(study), assessor.strip().upper()
    if not ASSESSOR.fullmatch(code):
        raise UserError(
            f"{assessor.strip()!r} is no assessor code.",
            "Type one to three letters and digits, such as R2; never a name.",
        )
    one = _sealed(folder, number)
    public = one.public(folder)
    path = folder.path(one.answers(code))
    answers: dict[str, Any] = {
        "format": FORMAT,
        "kind": KIND,
        "round": public["round"],
        "number": one.number,
        "assessor": code,
        "operator": operator,
        "photos": {},
        "pairs": {},
        "guesses": {},
    }
    photos = counted(len(public["photos"]), "photo")
    lines = [f"Round {one.number}: {photos}, one at a time, for {code}."]
    if path.exists():
        known = read_answer_file(read_bytes(path), one.expected(folder), path.name)
        answers |= json.loads(read_bytes(path)) | {"operator": operator}
        lines.append(f"It goes on where it stopped: {_still_open(known)}.")
    return Answer(tuple(lines), {"round": public, "answers": answers})


def round_picture(study: Opened, number: int, name: str) -> bytes:
    """Give one picture of a round.

    Parameters
    ----------
    study : Study or path-like
    number : int
    name : str
        Code of the picture; side by side with -1 (left) or -2.

    Returns
    -------
    bytes
        JPEG.

    Raises
    ------
    UserError
        If the round has no such picture.
    """
    folder = opened(study)
    one = the_round(folder, number)
    public = one.public(folder)
    both = [f"{code}-{place}" for code in public["pairs"] for place in (1, 2)]
    if name not in {*public["photos"], *both}:
        raise UserError(f"Round {number} has no picture {name!r}.", "Open the sheet again.")
    return read_bytes(folder.path(f"{one.folder}/photos/{name}.jpg"))


def keep_scores(study: Opened, number: int, answers: Mapping[str, Any]) -> Answer[Sheet]:
    """Write down the answers of one assessor as they are now.

    Parameters
    ----------
    study : Study or path-like
    number : int
        Of the round.
    answers : mapping
        All answers so far, as the scoring form gives them.

    Returns
    -------
    Answer

    Raises
    ------
    UserError
        If something in them is no answer, or the key of the round was opened.
    """
    folder = opened(study)
    content = (json.dumps(answers, indent=1) + "\n").encode()
    with folder.writing():
        one = _sealed(folder, number)
        sheet = read_answer_file(content, one.expected(folder), "The scoring form")
        folder.keep_progress(one.answers(sheet.assessor), content)
    return Answer((f"Kept; {_still_open(sheet)}.",), sheet)


def take_scores(
    study: Opened, name: str, content: bytes, number: int | None = None
) -> Answer[Sheet]:
    """Take in an answer file that an assessor sent back; the key stays sealed.

    Parameters
    ----------
    study : Study or path-like
    name : str
        Of the file, used in messages.
    content : bytes
    number : int, optional
        Of the round; the first sealed one if not given.

    Returns
    -------
    Answer

    Raises
    ------
    UserError
        If it is no answer to this round, there are other answers of this assessor, or the key of
        the round was opened.
    """
    folder = opened(study)
    with folder.writing():
        one = _sealed(folder, number or next(iter(waiting_rounds(folder)), None))
        sheet = read_answer_file(content, one.expected(folder), name)
        path = folder.path(one.answers(sheet.assessor))
        if path.exists() and read_bytes(path) != content:
            raise UserError(
                f"There are other answers of {sheet.assessor} to round {one.number} already.",
                f"Two people need two codes. If {name} is the newer one of the same person, move "
                f"{path} away first. Nothing was overwritten.",
            )
        folder.keep_progress(one.answers(sheet.assessor), content)
    line = f"The answers of {sheet.assessor} to round {one.number} are taken in"
    return Answer(
        (f"{line}; {_still_open(sheet)}." if sheet.open else f"{line}, complete.",), sheet
    )


def _sealed(study: Study, number: int | None) -> Round:
    one = the_round(study, number)
    if one.opened is not None:
        raise UserError(
            f"The key of round {one.number} was opened on {one.opened.time[:10]}: whoever answers "
            "now may know the arms.",
            "Prepare a new round; photos that were scored come in again with 'again'.",
        )
    return one


def _still_open(sheet: Sheet) -> str:
    return f"{counted(sheet.open, 'answer')} {'is' if sheet.open == 1 else 'are'} open"
