"""The one form of every panel: inputs, a call, and its result shown."""

import logging
from collections.abc import Callable, Mapping, Sequence
from os import PathLike, fspath
from time import monotonic
from typing import Any, ClassVar, Protocol, runtime_checkable

from ipywidgets import HTML, Button, HBox, VBox, Widget

from pmulab import __version__
from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.drafts import Drafts
from pmulab.panels.guard import Guard
from pmulab.panels.heap import set_libraries_aside
from pmulab.panels.showing import (
    CANCELLED,
    NOT_RUN,
    Kind,
    asleep,
    line_of_code,
    paragraphs,
    said,
    unforeseen,
    working,
)
from pmulab.stations.answer import Answer

_log = logging.getLogger(__name__)


@runtime_checkable
class Chosen(Protocol):
    """A choice of a study that can change while panels are open."""

    def follow(self, refresh: Callable[[], None], unsaved: Callable[[], str] | None = None) -> None:
        """Call `refresh` whenever another study is chosen or the study has moved on."""

    def all_unsaved(self) -> Sequence[str]:
        """List what was typed in the forms of a notebook and not saved yet."""

    def moved_on(self, by: Callable[[], None]) -> None:
        """Let every panel of the study look at its files again, but for the one that moved it."""


class Panel:
    """A form that calls one verb: no arithmetic, no file access, nothing kept but in files.

    Parameters
    ----------
    study : path-like or ChooseStudy
        Folder of the study.
    """

    title: ClassVar[str] = ""
    lead: ClassVar[str] = ""
    button: ClassVar[str] = ""
    slow: ClassVar[bool] = False
    """Whether its button may take over a second: it then says so, and can be stopped."""
    keeps_typing: ClassVar[bool] = True
    """Whether what was typed and not saved outlives a look at the study by another panel."""
    repeats: ClassVar[str] = ""
    """What of a client its line of code repeats; the next client must not read it."""
    patience: ClassVar[float] = 0.4
    """Seconds after an answer in which the second half of a double click is passed over."""

    def __init__(self, study: str | PathLike[str]) -> None:
        self._study = study
        self.inputs: dict[str, Any] = {}
        self.result: Any = None
        self.drafts = Drafts()
        self._answered = -self.patience
        self._left: dict[str, Any] = {}
        self._fields = VBox()
        self._button = Button(description=self.button, button_style="primary")
        self._button.on_click(self._clicked)
        self.said, self.details, self.line = HTML(), HTML(), HTML()
        head = HTML(f"<h3>{self.title}</h3>{paragraphs([self.lead])}")
        buttons = HBox(list(self.buttons()))
        buttons.layout.flex_flow = "row wrap"
        parts = [Guard(), head, self._fields, buttons]
        parts += [self.said, self.details, self.line]
        self.box = VBox(parts)
        self.box.add_class("pmulab-panel")
        self.refresh()
        if isinstance(study, Chosen):
            study.follow(self.refresh, self.unsaved)

    @property
    def study(self) -> str:
        """Folder of the study, as it is shown in the line of code."""
        return fspath(self._study)

    def buttons(self) -> Sequence[Button]:
        """Give the buttons below the inputs."""
        return [self._button]

    def also(self, label: str, step: Callable[[], Any]) -> Button:
        """Make one more button.

        Parameters
        ----------
        label : str
        step : callable
            What it does, with nothing caught.

        Returns
        -------
        Button
        """

        def guarded_click(_event: Any = None) -> None:
            self.guarded(step)

        made = Button(description=label)
        made.on_click(guarded_click)
        return made

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

    def draft_of(self) -> str:
        """Name what unsaved typing belongs to; typing for one thing never shows up in another."""
        return self.study

    def unsaved(self) -> str:
        """Say what was typed and is not saved yet, and which button saves it; '' for nothing."""
        return ""

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
        if self.slow:
            self.details.value = self.line.value = ""
            self.said.value = working()
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
        self.tell(words, kind_of(result, words))
        self.details.value = rest
        self.line.value = line_of_code(line, self.repeats)

    def tell(self, words: Sequence[str], kind: Kind = "done") -> None:
        """Announce something, in place of what was announced before.

        Parameters
        ----------
        words : sequence of str
        kind : {'done', 'look', 'problem'}
        """
        self.said.value = said(words, kind)

    def refresh(self) -> None:
        """Look at the study again, with a form for how it stands now."""
        self.said.value = self.details.value = self.line.value = ""
        self.guarded(self._renew)

    def _renew(self) -> None:
        (self.drafts.keep if self.keeps_typing else self.drafts.saved)(self.inputs)
        self.inputs = {}
        self._fields.children = ()
        self._fields.children = tuple(self.form())
        self.drafts.begin(self.draft_of(), self.inputs)

    def moved_on(self) -> None:
        """Tell the other panels of this study that its files have changed."""
        if isinstance(self._study, Chosen):
            self._study.moved_on(self.refresh)

    def _clicked(self, _event: Any = None) -> None:
        """Answer the button, but for the second half of a double click: nothing was typed since."""
        if monotonic() - self._answered < self.patience and self._values() == self._left:
            return
        self.guarded(self.press)
        set_libraries_aside()
        self._answered, self._left = monotonic(), self._values()

    def _values(self) -> dict[str, Any]:
        return {name: given.value for name, given in self.inputs.items()}

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
        except KeyboardInterrupt:
            self._tell_failure(CANCELLED)
        except Exception as error:
            _log.exception("panel %s", type(self).__name__)
            where = f"pmulab {__version__}, {type(self).__name__}"
            self._tell_failure(unforeseen(where, error))

    def _tell_failure(self, words: Sequence[str]) -> None:
        self.result = None
        self.details.value = self.line.value = ""
        self.tell(words, "problem")

    def _repr_mimebundle_(self, **kwargs: Any) -> Mapping[str, Any]:
        """Show the form; where widgets cannot be shown, say what to do."""
        shown: Mapping[str, Any] = self.box._repr_mimebundle_(**kwargs) or {}
        return {**shown, "text/plain": NOT_RUN}

    def _ipython_display_(self) -> None:
        """Show the form, with a sentence that stands there once its kernel is gone."""
        from IPython.display import display

        display({"text/html": asleep(), "text/plain": NOT_RUN}, raw=True)
        display(self._repr_mimebundle_(), raw=True)
        set_libraries_aside()


def kind_of(result: Any, words: Sequence[str]) -> Kind:
    """Tell how a result is announced.

    Parameters
    ----------
    result : Answer
    words : sequence of str
        What is said of it.

    Returns
    -------
    {'done', 'look', 'problem'}
    """
    if any(line.startswith("PAUSE NOW") for line in words):
        return "problem"
    return "look" if isinstance(result, Answer) and result.found_problems else "done"
