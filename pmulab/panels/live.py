"""What a verb says of the chosen study, shown anew in its place when the choice changes."""

import logging
from collections.abc import Callable, Mapping
from html import escape
from typing import Any, Protocol

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.plain import in_notebooks
from pmulab.panels.showing import unforeseen

_log = logging.getLogger(__name__)


class Followed(Protocol):
    """A choice of a study that tells when it has changed."""

    def follow(self, refresh: Callable[[], None]) -> None:
        """Call `refresh` whenever another study is chosen or the study has moved on."""


def shown_in_place(study: Followed, now: Callable[[], Mapping[str, str]]) -> None:
    """Show something below a cell, and again in the same place whenever the choice changes.

    Parameters
    ----------
    study : ChooseStudy
    now : callable
        Gives what is to be seen, by kind, such as 'text/plain' and 'text/html'.
    """
    from IPython.display import display

    place = display(now(), raw=True, display_id=True)
    if place is not None:  # there is none outside a notebook
        study.follow(lambda: place.update(now(), raw=True))


class Live:
    """The answer of a verb about the study that is chosen now; it writes nothing.

    Parameters
    ----------
    study : ChooseStudy
    call : callable
        Gives the call for the study as it is chosen now.
    """

    def __init__(self, study: Followed, call: Callable[[], Call]) -> None:
        self._study, self._call = study, call

    def now(self) -> dict[str, str]:
        """Give the answer and the line that gives it, as text and as HTML."""
        call = self._call()
        text = in_notebooks(_told(call))
        same = "The same as a line of a notebook:"
        lines = "<br>".join(escape(line) for line in text.splitlines())
        shown = f"<p>{lines}</p><p>{same} <code>{escape(str(call))}</code></p>"
        return {"text/plain": f"{text}\n{same} {call}", "text/html": shown}

    def _ipython_display_(self) -> None:
        shown_in_place(self._study, self.now)


def _told(call: Call) -> str:
    """Ask; what goes wrong is an answer too, so that the cells below still run."""
    try:
        answer: Any = call()
    except UserError as error:
        return f"{error.what}\n{error.remedy}"
    except Exception as error:
        _log.exception("asking %s", call)
        return "\n".join(unforeseen(str(call), error))
    return str(answer)
