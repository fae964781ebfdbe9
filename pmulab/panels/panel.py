"""The one form of every panel: inputs, a call, and its result shown."""

import logging
from collections.abc import Callable, Mapping, Sequence
from os import PathLike, fspath
from typing import Any, ClassVar, Protocol, runtime_checkable

from ipywidgets import HTML, Button, HBox, VBox, Widget

from pmulab import __version__
from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.guard import Guard
from pmulab.panels.showing import Kind, line_of_code, paragraphs, said
from pmulab.stations.answer import Answer

NOT_RUN = "Form: choose Run > Run All Cells to show it."
_log = logging.getLogger(__name__)


@runtime_checkable
class Chosen(Protocol):
    """A choice of a study that can change while panels are open."""

    def follow(self, refresh: Callable[[], None]) -> None:
        """Call `refresh` whenever another study is chosen or the study has moved on."""

    def moved_on(self, by: Callable[[], None]) -> None:
        """Let every panel of the study look at its files again, but for the one that moved it."""


class Panel:
    """A form that calls one verb: no arithmetic, no file access, no state of its own.

    Parameters
    ----------
    study : path-like or ChooseStudy
        Folder of the study.
    """

    title: ClassVar[str] = ""
    lead: ClassVar[str] = ""
    button: ClassVar[str] = ""

    def __init__(self, study: str | PathLike[str]) -> None:
        self._study = study
        self.inputs: dict[str, Any] = {}
        self.result: Any = None
        self._fields = VBox()
        self._button = Button(description=self.button, button_style="primary")
        self._button.on_click(self._clicked)
        self.said, self.details, self.line = HTML(), HTML(), HTML()
        head = HTML(f"<h3>{self.title}</h3>{paragraphs([self.lead])}")
        parts = [Guard(), head, self._fields, HBox(list(self.buttons()))]
        parts += [self.said, self.details, self.line]
        self.box = VBox(parts)
        self.box.add_class("pmulab-panel")
        self.refresh()
        if isinstance(study, Chosen):
            study.follow(self.refresh)

    @property
    def study(self) -> str:
        """Folder of the study, as it is shown in the line of code."""
        return fspath(self._study)

    def buttons(self) -> Sequence[Button]:
        """Give the buttons below the inputs."""
        return [self._button]

    def offer(self, possible: bool) -> None:
        """Show the button only when pressing it can lead anywhere.

        Parameters
        ----------
        possible : bool
        """
        self._button.layout.display = "" if possible else "none"

    def form(self) -> Sequence[Widget]:
        """Make `inputs` for the study as it is now, and give them in order with their notes."""
        return []

    def call(self) -> Call:
        """Give the verb with the values of the inputs; its text is the line that is shown."""
        raise NotImplementedError

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Give what is announced in words, and the rest as HTML."""
        return result.lines, ""

    def press(self) -> Any:
        """Do what the button does, with nothing caught.

        Returns
        -------
        Answer

        Raises
        ------
        UserError
            As the verb does.
        """
        return self.perform(self.call())

    def perform(self, call: Call) -> Any:
        """Make a call and show its result with the line that does the same.

        Parameters
        ----------
        call : Call

        Returns
        -------
        Answer
        """
        self.result = call()
        self.show(self.result, str(call))
        return self.result

    def show(self, result: Any, line: str) -> None:
        """Show a result and the line that gives it.

        Parameters
        ----------
        result : Answer
        line : str
        """
        words, rest = self.explain(result)
        problems = isinstance(result, Answer) and result.found_problems
        self.tell(words, "look" if problems else "done")
        self.details.value = rest
        self.line.value = line_of_code(line)

    def tell(self, words: Sequence[str], kind: Kind = "done") -> None:
        """Announce something, in place of what was announced before.

        Parameters
        ----------
        words : sequence of str
        kind : {'done', 'look', 'problem'}
        """
        self.said.value = said(words, kind)

    def refresh(self) -> None:
        """Look at the study again and begin with a fresh form."""
        self.said.value = self.details.value = self.line.value = ""
        self.guarded(self._renew)

    def _renew(self) -> None:
        self.inputs = {}
        self._fields.children = ()
        self._fields.children = tuple(self.form())

    def moved_on(self) -> None:
        """Tell the other panels of this study that its files have changed."""
        if isinstance(self._study, Chosen):
            self._study.moved_on(self.refresh)

    def _clicked(self, _event: Any = None) -> None:
        """Answer a button or a changed input."""
        self.guarded(self.press)

    def guarded(self, step: Callable[[], Any]) -> None:
        """Take a step; whatever goes wrong is told in the panel, never swallowed.

        Parameters
        ----------
        step : callable
        """
        try:
            step()
        except UserError as error:
            self._tell_failure(["To put right:", error.what, error.remedy])
        except Exception as error:
            _log.exception("panel %s", type(self).__name__)
            self._tell_failure(
                [
                    "Something went wrong, nothing was lost.",
                    "Please send this line to whoever helps you with pmulab:",
                    f"pmulab {__version__}, {type(self).__name__}: {type(error).__name__}: {error}",
                ]
            )

    def _tell_failure(self, words: Sequence[str]) -> None:
        self.result = None
        self.details.value = self.line.value = ""
        self.tell(words, "problem")

    def _repr_mimebundle_(self, **kwargs: Any) -> Mapping[str, Any]:
        """Show the form; where widgets cannot be shown, say what to do."""
        shown: Mapping[str, Any] = self.box._repr_mimebundle_(**kwargs) or {}
        return {**shown, "text/plain": NOT_RUN}
