"""Prepare a scoring round, score it here, and collect it."""

from collections.abc import Callable, Mapping, Sequence
from os import PathLike
from typing import Any

from ipywidgets import FileUpload, IntProgress, VBox, Widget

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.inputs import CHOOSE, choice, note, tick, words
from pmulab.panels.panel import Panel
from pmulab.panels.scorer import Scorer
from pmulab.stations.score_collect import collect_scores
from pmulab.stations.score_here import (
    keep_scores,
    round_picture,
    score_here,
    take_scores,
    waiting_rounds,
)
from pmulab.stations.score_prepare import prepare_scoring

_SHARES = [("none", 0.0), ("one in ten", 0.1), ("one in five", 0.2), ("every second", 0.5)]
_NO_ROUND = "No round waits for answers. Prepare one in the form above."


class PrepareRound(Panel):
    """Mix and code the healed photos.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "1. Prepare a round"
    lead = (
        "Put the healed photos into the folder 'healed-photos' of the study, named like "
        "C042_L_1.jpg: the client's code, L or R for her own left or right, the healed visit. "
        "They stay as they are."
    )
    button = "Prepare the round"

    def form(self) -> Sequence[Widget]:
        """Give the ways to make a round."""
        self._progress = IntProgress(value=0, max=1, description="Photos")
        self._progress.layout.display = "none"
        self.inputs = {
            "photos": words(
                "Another folder with photos", example="leave empty for 'healed-photos'"
            ),
            "repeats": choice("Photos shown twice", _SHARES, 0.2),
            "mirror": tick("Mirror left eyelids, so that the side cannot be told", True),
            "again": tick("Also take photos that were in an earlier round"),
        }
        return [
            *self.inputs.values(),
            note("Photos that come twice show how well an assessor agrees with herself."),
            self._progress,
        ]

    def call(self) -> Call:
        """Prepare the round as it was asked for."""
        given: dict[str, Any] = {"study": self.study}
        if self.inputs["photos"].value.strip():
            given["photos"] = self.inputs["photos"].value.strip()
        usual = {"repeats": 0.2, "mirror": True, "again": False}
        given |= {
            name: self.inputs[name].value
            for name, value in usual.items()
            if self.inputs[name].value != value
        }
        return Call(prepare_scoring, given)

    def perform(self, call: Call) -> Any:
        """Prepare the round, telling how far it is."""
        self._progress.layout.display = ""
        told = Call(_following(call.function, self._told), call.kwargs)
        try:
            self.result = told()
        finally:
            self._progress.layout.display = "none"
        self.show(self.result, str(call))
        return self.result

    def show(self, result: Any, line: str) -> None:
        """Show the result; a new round is offered below first."""
        if result.value is not None:
            self.moved_on()
        super().show(result, line)

    def _told(self, done: int, of: int) -> None:
        self._progress.max, self._progress.value = of, done


def _following(verb: Callable[..., Any], told: Callable[[int, int], None]) -> Callable[..., Any]:
    return lambda **given: verb(**given, progress=told)


class ScorePhotos(Panel):
    """One picture at a time, by keyboard or mouse.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "2. Score"
    lead = (
        "One picture at a time, in mixed order. Keys 0 to 4 give a grade, U takes back the last "
        "answer, the arrow keys go back and on. Every answer is written down at once; after a "
        "break it goes on where it stopped."
    )
    button = "Begin, or go on"

    def __init__(self, study: str | PathLike[str]) -> None:
        self.sheet = VBox()
        super().__init__(study)
        self.box.children = (*self.box.children, self.sheet)

    def form(self) -> Sequence[Widget]:
        """Ask who scores which round."""
        self.sheet.children = ()
        open_rounds = waiting_rounds(self.study)
        self.offer(bool(open_rounds))
        if not open_rounds:
            return [note(_NO_ROUND)]
        listed = [(f"round {number}", number) for number in open_rounds]
        self.inputs = {
            "number": choice("Round", listed, open_rounds[-1]),
            "assessor": words("Assessor code", example="such as R2; never a name"),
            "operator": choice(
                "Did you do any of this work yourself?",
                [(CHOOSE, ""), ("no", "no"), ("yes", "yes")],
                "",
            ),
        }
        return [
            *self.inputs.values(),
            note("Alone, without talking about it until everybody has answered."),
        ]

    def call(self) -> Call:
        """Open the sheet."""
        if not self.inputs["operator"].value:
            raise UserError("It is not said who did the work.", "Choose yes or no.")
        return Call(
            score_here,
            {
                "study": self.study,
                "assessor": self.inputs["assessor"].value.strip(),
                "operator": self.inputs["operator"].value == "yes",
                "number": self.inputs["number"].value,
            },
        )

    def perform(self, call: Call) -> Any:
        """Open the sheet and show its form."""
        result = super().perform(call)
        study, number = self.study, int(call.kwargs["number"])

        def keep(answers: Mapping[str, Any]) -> None:
            self.guarded(lambda: keep_scores(study, number, answers))

        self.sheet.children = (
            Scorer(result.value, lambda name: round_picture(study, number, name), keep),
        )
        return result


class CollectScores(Panel):
    """Take in answer files, then open the key.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "3. Collect the answers"
    lead = (
        "Take in the files that assessors saved on the scoring page; answers given above are here "
        "already. Opening the key ends the round: nobody can answer after it."
    )
    button = "Open the key"

    def form(self) -> Sequence[Widget]:
        """Give the way to choose files, and the confirmation."""
        open_rounds = waiting_rounds(self.study)
        self.offer(bool(open_rounds))
        if not open_rounds:
            return [note(_NO_ROUND)]
        self._upload = FileUpload(
            accept=".json", multiple=True, description="Choose answer files",
            tooltip="Files that the scoring page saved, one an assessor",
        )  # fmt: skip
        self._upload.observe(self._uploaded, "value")
        self.inputs = {
            "number": choice("Round", [(f"round {n}", n) for n in open_rounds], open_rounds[0]),
            "done": tick("Everybody who was asked has answered"),
        }
        return [self.inputs["number"], self._upload, self.inputs["done"]]

    def call(self) -> Call:
        """Collect the round."""
        if not self.inputs["done"].value:
            raise UserError(
                "The key was not opened: it is not confirmed that everybody has answered.",
                "Tick the box once all answers are in. The key cannot be sealed again.",
            )
        return Call(collect_scores, {"study": self.study, "number": self.inputs["number"].value})

    def show(self, result: Any, line: str) -> None:
        """Show the result; a collected round moves the study on."""
        if result.files:
            self.moved_on()
        super().show(result, line)

    def _uploaded(self, change: Any) -> None:
        if change["new"]:
            self.guarded(self._take_in)

    def _take_in(self) -> None:
        chosen, number = list(self._upload.value), self.inputs["number"].value
        self._upload.value = ()
        told: list[str] = []
        for one in chosen:
            answer = take_scores(self.study, one["name"], bytes(one["content"]), number)
            told += answer.lines
            self.tell(told)
