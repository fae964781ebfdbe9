"""Ready questions in words, for a list to choose from."""

from collections.abc import Iterator

from pmulab.questions import Question
from pmulab.wording.amounts import capital

_DESIGNS = {
    "within-person": "left against right eyelid of one client",
    "parallel": "clients against clients",
}


def question_lines(ready: Question) -> Iterator[str]:
    """Say what a ready question compares, how, and by which main measure.

    Parameters
    ----------
    ready : Question

    Yields
    ------
    str
    """
    main = ready.data["primary"]
    yield f"{ready.name}"
    yield f"    {ready.summary}"
    design = capital(_DESIGNS[ready.data["study"]["design"]])
    yield f"    {design}. Main measure: {main['title']} ({main['unit']})."
