"""Begin a study from a ready question."""

from pathlib import Path

from pmulab.disk import typed
from pmulab.plan import read_plan
from pmulab.questions import draft, question
from pmulab.stations.answer import Answer
from pmulab.study import PLAN, Study, begin


def new(folder: str | Path, question_name: str, code: str = "", title: str = "") -> Answer[Study]:
    """Make a study folder with a commented plan.toml from a ready question.

    Parameters
    ----------
    folder : path-like
        A new folder.
    question_name : str
        One of `pmulab.questions.names()`.
    code : str, default=''
        Short name of the study; the question's name if not given.
    title : str, default=''
        One line; the question's own title if not given.

    Returns
    -------
    Answer
        Its value is the study.

    Raises
    ------
    UserError
        If there is no such question, or the folder already holds a study.
    """
    ready = question(question_name)
    text = draft(question_name, code or question_name, title)
    read_plan(text)
    study = begin(Path(folder), text)
    lines = (
        f"A new study: {ready.summary}",
        f"Open {PLAN}, read every line, and change what is not yours. Write the promises.",
        f"Then see what a few clients could show: pmulab size {typed(study.folder)}",
        f"and freeze it before the first client: pmulab lock {typed(study.folder)}",
    )
    return Answer(lines, study, (study.path(PLAN),), {"question": question_name})
