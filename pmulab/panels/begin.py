"""Begin a study."""

import re
from collections.abc import Sequence
from typing import Any
from unicodedata import normalize

from ipywidgets import HTML, Widget

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.choose import ChooseStudy
from pmulab.panels.inputs import CHOOSE, choice, note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import paragraphs
from pmulab.questions import names, question
from pmulab.stations.new import new
from pmulab.wording.amounts import ended

_LONGEST = 40


class Begin(Panel):
    """Begin a study from a ready question.

    Parameters
    ----------
    study : path-like or ChooseStudy
        A chooser moves on to the new study.
    """

    title = "1. The question"
    lead = "Choose the question that is nearest to yours; you can change every word of it later."
    button = "Begin this study"

    def form(self) -> Sequence[Widget]:
        """Give the list of questions and the name of the folder."""
        options = [(question(name).summary, name) for name in names()]
        self.inputs = {
            "question_name": choice("Question", [(CHOOSE, ""), *options], ""),
            "folder": words("Name of the new folder", example="such as wipes-2026"),
        }
        for given in self.inputs.values():
            given.observe(self._put_right, "value")
        self.about = HTML()
        self.inputs["question_name"].observe(self._explain_question, "value")
        self.inputs["question_name"].add_class("pmulab-wide")
        hint = note(
            "Small letters, digits and hyphens. A study begun by mistake is put away at the top."
        )
        return [self.inputs["question_name"], self.about, self.inputs["folder"], hint]

    def call(self) -> Call:
        """Begin the study."""
        question_name, folder = self.inputs["question_name"].value, self.inputs["folder"].value
        if not question_name or not folder.strip():
            raise UserError(
                "A question and a name for the new folder are needed.",
                "Choose a question, and write a short name such as wipes-2026.",
            )
        _refuse_spaces(folder.strip())
        return Call(new, {"folder": folder.strip(), "question_name": question_name})

    def show(self, result: Any, line: str) -> None:
        """Show what was begun and choose it for the panels below."""
        if isinstance(self._study, ChooseStudy):
            self._study.choose_study(self.inputs["folder"].value.strip(), by=self.refresh)
        super().show(result, line)

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say what comes next in this notebook."""
        return [result.lines[0], "The forms below now work on it: go on with 2."], ""

    def _put_right(self, _change: Any) -> None:
        """Take back what was said to be wrong: something else stands there now."""
        if self.result is None:
            self.said.value = ""

    def _explain_question(self, change: Any) -> None:
        def explain() -> None:
            if not change["new"]:
                self.about.value = ""
                return
            ready = question(change["new"])
            self.about.value = paragraphs(
                [
                    ended(ready.summary),
                    f"Who is compared: {ready.why_design}",
                    f"What may reach across: {ready.carry_across}",
                ]
            )

        self.guarded(explain)


def _refuse_spaces(folder: str) -> None:
    """Refuse a space in the name: commands and links would take it for two names."""
    if len(folder.split()) > 1:
        raise UserError(
            f"The name of the folder has a space in it: {folder}. Nothing was made.",
            f"Write a hyphen in its place, such as {_suggested(folder)}.",
        )


def _suggested(folder: str) -> str:
    """Turn what was typed into a name of small letters, digits and hyphens."""
    plain = normalize("NFKD", folder.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST].strip("-") or "wipes-2026"
