"""A sentence below a form that says what was typed and is not saved yet."""

from collections.abc import Callable, Iterable
from typing import Any

from ipywidgets import HTML, Widget

from pmulab.panels.showing import paragraphs


class NotSaved(HTML):
    """Stands below a form, empty as long as nothing is typed.

    Parameters
    ----------
    tell : callable
        Says what is not saved yet, and which button saves it; '' for nothing.
    """

    def __init__(self, tell: Callable[[], str]) -> None:
        super().__init__()
        self._tell = tell
        self.add_class("pmulab-hint")

    def watch(self, inputs: Iterable[Widget]) -> None:
        """Follow the inputs of a form that was made anew.

        Parameters
        ----------
        inputs : iterable of Widget
        """
        for given in inputs:
            given.observe(self._typed, "value")
        self.value = ""

    def look(self) -> None:
        """Say it as it stands now."""
        self.value = paragraphs([self._tell()])

    def _typed(self, _change: Any) -> None:
        self.look()
