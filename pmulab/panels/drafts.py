"""What was typed into a form and is not saved yet, and what comes too late for it."""

from collections.abc import Mapping
from contextlib import suppress
from functools import partial
from typing import Any

from traitlets import TraitError


class Drafts:
    """Typing that outlives a form made anew, apart for each thing it belongs to.

    It lives as long as the kernel; files are written by buttons only.
    """

    def __init__(self) -> None:
        self._of = ""
        self._begun: dict[str, Any] = {}
        self._kept: dict[str, dict[str, Any]] = {}
        self._shown: Mapping[str, Any] = {}

    def begin(self, of: str, inputs: Mapping[str, Any]) -> None:
        """Remember a fresh form, and put back what was typed for the same thing before.

        What was typed into the inputs before these while Python was busy is heard afterwards only;
        it goes into their successors.

        Parameters
        ----------
        of : str
            What the typing belongs to.
        inputs : mapping of str to Widget
        """
        before = self._shown if of == self._of else {}
        self._of, self._begun = of, {name: given.value for name, given in inputs.items()}
        for name, value in self._kept.pop(of, {}).items():
            if name in inputs:
                _put(inputs[name], value)
        for name in before.keys() & inputs.keys():
            before[name].observe(partial(_hand_on, inputs[name]), "value")
        self._shown = dict(inputs)

    def typed(self, inputs: Mapping[str, Any]) -> dict[str, Any]:
        """Give what differs from the fresh form.

        Parameters
        ----------
        inputs : mapping of str to Widget

        Returns
        -------
        dict of str to value
        """
        begun = self._begun
        return {
            name: given.value
            for name, given in inputs.items()
            if name in begun and given.value != begun[name]
        }

    def keep(self, inputs: Mapping[str, Any]) -> None:
        """Keep what was typed before the form is made anew.

        Parameters
        ----------
        inputs : mapping of str to Widget
        """
        typed = self.typed(inputs)
        if typed:
            self._kept[self._of] = typed

    def elsewhere(self, of: str) -> dict[str, dict[str, Any]]:
        """Give what is kept of other things than this one.

        Parameters
        ----------
        of : str

        Returns
        -------
        dict of str to (dict of str to value)
        """
        return {other: typed for other, typed in self._kept.items() if other != of}

    def saved(self, inputs: Mapping[str, Any]) -> None:
        """Take what stands in the form as saved; what comes too late for it belongs to no other.

        Parameters
        ----------
        inputs : mapping of str to Widget
        """
        self._begun = {name: given.value for name, given in inputs.items()}
        self._shown = {}


def _put(given: Any, value: Any) -> None:
    if not given.disabled:
        with suppress(TraitError):  # the choice is not on the list any more
            given.value = value


def _hand_on(successor: Any, change: Any) -> None:
    _put(successor, change["new"])
