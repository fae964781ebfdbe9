"""The file that an assessor sends back: foreign, so everything in it is checked first."""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pmulab.errors import UserError, line_in_json
from pmulab.scoring.questions import SEGMENTS, Question

KIND = "pmulab scores"
FORMAT = 1
MOST_BYTES = 2_000_000
QUALITY = "photo_quality"
PAIR_ANSWERS = ("left", "same", "right")
GUESSES = ("A", "B", "no_idea")
ASSESSOR = re.compile(r"[A-Z]{1,3}[0-9]{1,3}")
_ENTRIES = frozenset(
    {"format", "kind", "round", "number", "assessor", "operator", "photos", "pairs", "guesses"}
)
_ASK_AGAIN = "Ask the assessor for the file that the scoring page saves. Nothing was taken over."


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one assessor answered in one round.

    Parameters
    ----------
    assessor : str
        A code, never a name.
    operator : bool
        True when the assessor did the work herself.
    photos : mapping of code to answers
        Values by question; segments as the number kept. `photo_quality` alone when the photo
        cannot be judged.
    pairs : mapping of code to {'left', 'same', 'right'}
        Where more was kept.
    guesses : mapping of code to {'A', 'B', 'no_idea'}
    open : int
        Answers that are still missing.
    """

    assessor: str
    operator: bool
    photos: Mapping[str, Mapping[str, str]]
    pairs: Mapping[str, str]
    guesses: Mapping[str, str]
    open: int


@dataclass(frozen=True, slots=True)
class Expected:
    """What answers to one round can be.

    Parameters
    ----------
    id : str
        Of the round.
    photos, pairs : sequence of str
        Codes.
    questions : sequence of Question
    refusals : sequence of str
        Why a photo may be refused.
    """

    id: str
    photos: tuple[str, ...]
    pairs: tuple[str, ...]
    questions: tuple[Question, ...]
    refusals: tuple[str, ...]


def read_answer_file(data: bytes, expected: Expected, where: str) -> Sheet:
    """Read the answers of one assessor, and refuse whatever is no answer to this round.

    Parameters
    ----------
    data : bytes
        Content of the file.
    expected : Expected
    where : str
        File name used in messages.

    Returns
    -------
    Sheet

    Raises
    ------
    UserError
        If the file is too large, no answer file, of a later release, of another round, or holds
        a code or an answer that the round does not have.
    """
    content = _content(data, where)
    _refuse_foreign(content, expected, where)
    photos = _section(content, "photos", expected.photos, where)
    pairs = _section(content, "pairs", expected.pairs, where)
    guesses = _section(content, "guesses", expected.photos, where)
    judged = {
        code: _photo(answers, expected, f"{where}, photo {code}")
        for code, answers in photos.items()
    }
    for code, answer in pairs.items():
        _one_of(answer, PAIR_ANSWERS, f"{where}, picture {code}")
    for code, answer in guesses.items():
        _one_of(answer, GUESSES, f"{where}, guess {code}")
    unanswered = sum(not _complete(judged.get(code, {}), expected) for code in expected.photos)
    missing = len(expected.pairs) - len(pairs) + len(expected.photos) - len(guesses)
    code, operator = content["assessor"], content["operator"]
    return Sheet(code, operator, judged, pairs, guesses, unanswered + missing)


def merge_check(sheets: Sequence[tuple[str, Sheet]]) -> None:
    """Refuse two files of one assessor.

    Parameters
    ----------
    sheets : sequence of (file name, Sheet)

    Raises
    ------
    UserError
        If an assessor code stands in two files.
    """
    seen: dict[str, str] = {}
    for where, sheet in sheets:
        if sheet.assessor in seen:
            raise UserError(
                f"{where} and {seen[sheet.assessor]} are both of the assessor {sheet.assessor}.",
                "Keep the one that was finished. Two people need two codes: then one of them opens "
                "the page again with a code of her own. Nothing was taken over.",
            )
        seen[sheet.assessor] = where


def _content(data: bytes, where: str) -> dict[str, Any]:
    if len(data) > MOST_BYTES:
        raise UserError(
            f"{where} has {len(data) / 1e6:.1f} MB; a file of answers is far smaller.", _ASK_AGAIN
        )
    try:
        content = json.loads(
            data.decode("utf-8-sig"), object_pairs_hook=_once, parse_constant=_no_constant
        )
    except _Twice as twice:
        raise UserError(f"{where} has two entries {_quoted(twice.name)}.", _ASK_AGAIN) from None
    except (ValueError, RecursionError) as error:
        place = f"{where}{line_in_json(error)}"
        raise UserError(f"{place} cannot be read as a file of answers.", _ASK_AGAIN) from None
    if not isinstance(content, dict) or content.get("kind") != KIND:
        raise UserError(f"{where} is no file of answers to a scoring round.", _ASK_AGAIN)
    return content


def _refuse_foreign(content: Mapping[str, Any], expected: Expected, where: str) -> None:
    version = content.get("format")
    if type(version) is int and version > FORMAT:
        raise UserError(
            f"{where} was written by a later release (format {version}).", "Install a newer pmulab."
        )
    if type(version) is not int or version != FORMAT or set(content) != _ENTRIES:
        raise UserError(f"{where} lacks an entry, or has one that does not belong.", _ASK_AGAIN)
    if content["round"] != expected.id:
        raise UserError(
            f"{where} answers another round, or a round of another study.",
            "Collect it with the round that it belongs to. Nothing was taken over.",
        )
    code = content["assessor"]
    if not isinstance(code, str) or not ASSESSOR.fullmatch(code):
        raise UserError(
            f"{where}: {_quoted(code)} is no assessor code.",
            "A code has one to three capital letters and digits, such as R2; never a name.",
        )
    if type(content["operator"]) is not bool:
        raise UserError(f"{where} does not say whether the assessor did the work.", _ASK_AGAIN)


def _section(
    content: Mapping[str, Any], name: str, codes: Sequence[str], where: str
) -> dict[str, Any]:
    found = content[name]
    if not isinstance(found, dict):
        raise UserError(f"{where}: the entry {name!r} holds no answers.", _ASK_AGAIN)
    strangers = [code for code in found if code not in set(codes)]
    if strangers:
        raise UserError(
            f"{where}: there is no picture {_quoted(strangers[0])} in this round.", _ASK_AGAIN
        )
    return found


def _photo(answers: object, expected: Expected, where: str) -> dict[str, str]:
    """Read the answers about one photo; the number of segments takes the place of their list."""
    known = {question.name: question for question in expected.questions}
    if not isinstance(answers, dict) or set(answers) - {*known, QUALITY}:
        raise UserError(f"{where} has an answer to a question that was not asked.", _ASK_AGAIN)
    if QUALITY in answers:
        _one_of(answers[QUALITY], expected.refusals, where)
        return {QUALITY: answers[QUALITY]}
    return {name: _answer(known[name], value, where) for name, value in answers.items()}


def _answer(question: Question, value: object, where: str) -> str:
    if question.kind != "segments":
        _one_of(value, question.values, f"{where}, {question.title}")
        return str(value)
    whole = isinstance(value, list) and all(type(one) is int for one in value)
    if not whole or not isinstance(value, list) or len(set(value)) < len(value):
        raise _no_answer(value, f"{where}, {question.title}")
    if any(not 1 <= one <= SEGMENTS for one in value):
        raise _no_answer(value, f"{where}, {question.title}")
    return str(len(value))


def _one_of(value: object, allowed: Sequence[str], where: str) -> None:
    if not isinstance(value, str) or value not in allowed:
        raise _no_answer(value, where)


def _no_answer(value: object, where: str) -> UserError:
    return UserError(f"{where}: {_quoted(value)} is no answer that could be given.", _ASK_AGAIN)


def _complete(answers: Mapping[str, str], expected: Expected) -> bool:
    return QUALITY in answers or all(one.name in answers for one in expected.questions)


def _quoted(value: object) -> str:
    """Show what a foreign file holds, short and in plain letters."""
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


class _Twice(Exception):
    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    content: dict[str, Any] = {}
    for name, value in pairs:
        if name in content:
            raise _Twice(name)
        content[name] = value
    return content


def _no_constant(name: str) -> float:
    raise ValueError(name)
