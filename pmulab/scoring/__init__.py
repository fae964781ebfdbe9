"""Blind scoring rounds: photos in mixed order under random codes, answers, and how well they agree.

Touches no file: (photos, seed) -> round; (key, answers) -> healed rows; (judgements) -> agreement.
"""

from pmulab.scoring.agreement import agreements
from pmulab.scoring.answers import Sheet, merge_check, read_answer_file
from pmulab.scoring.drawing import draw_round
from pmulab.scoring.guessing import guesses, kept_more
from pmulab.scoring.photos import Photo, read_photo_name
from pmulab.scoring.questions import Question, questions
from pmulab.scoring.rounds import Key, Pair, Showing, open_key, public_round, seal_key
from pmulab.scoring.rows import Judgement, healed_rows, judgements

__all__ = [
    "Judgement",
    "Key",
    "Pair",
    "Photo",
    "Question",
    "Sheet",
    "Showing",
    "agreements",
    "draw_round",
    "guesses",
    "healed_rows",
    "judgements",
    "kept_more",
    "merge_check",
    "open_key",
    "public_round",
    "questions",
    "read_answer_file",
    "read_photo_name",
    "seal_key",
]
