"""Check the records."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ipywidgets import HTML, Button, Widget

from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.inputs import choice, note, words
from pmulab.panels.panel import Panel
from pmulab.panels.showing import paragraphs
from pmulab.panels.upload import MOST, ChooseFile
from pmulab.stations.check import check
from pmulab.stations.opening import opened
from pmulab.stations.put_back import PAUSE
from pmulab.stations.receive import receive
from pmulab.stations.take_records import take_records
from pmulab.study import RECORDS
from pmulab.tables import Report
from pmulab.tables.report import BLOCKS
from pmulab.wording.safety import KEEP_HARM

_FOLDER = "the workbook in the study folder"
_OTHER = "another file, named below"
_USE = "Use this file as the records"
_OPEN = (
    "Open it from your computer's own file manager, with your spreadsheet or office program. "
    "JupyterLab cannot open a workbook: a double click on it there gives an error."
)


class Records(Panel):
    """Where the workbook is, and what in it has to be put right.

    Parameters
    ----------
    study : path-like or ChooseStudy
    """

    title = "Check the records"
    lead = (
        "Type into the workbook with your spreadsheet program, save it, and press the button. "
        "Your file is only read, never changed."
    )
    button = "Check"

    def buttons(self) -> Sequence[Button]:
        """Give the two buttons."""
        self._use = self.also(_USE, self.use_it)
        return [self._button, self._use]

    def form(self) -> Sequence[Widget]:
        """Say where the workbook is, and give the ways to name another file."""
        study = opened(self.study)
        locked = study.locked() is not None
        self.offer(locked)
        if not locked:
            return [note("There is no workbook yet: it is laid out when the plan is locked.")]
        self.inputs = {
            "which": choice("What to check", [(_FOLDER, ""), (_OTHER, "other")], ""),
            "file": words("Another file", example="folder/name.xlsx"),
        }
        self.inputs["file"].observe(self._named, "value")
        self.upload = ChooseFile("Choose a file to check", self._take_in, self.guarded)
        return [
            HTML(paragraphs([_whereabouts(study.path(RECORDS)), _OPEN])),
            self.inputs["which"],
            self.inputs["file"],
            self.upload,
            note(
                f"A chosen file may have up to {MOST // 1_000_000} MB: a copy of it is kept beside "
                "your records, under a new name, and checked at once. Nothing is overwritten."
            ),
        ]

    def call(self) -> Call:
        """Check the workbook of the study, or the file that was named."""
        given = {"study": self.study}
        if self.inputs["which"].value:
            given["file"] = self.inputs["file"].value.strip()
            if not given["file"]:
                raise UserError("No file is named.", "Name it under 'Another file', or choose it.")
        return Call(check, given)

    def explain(self, result: Any) -> tuple[Sequence[str], str]:
        """Say how much there is to put right, and list every place."""
        if result.value == opened(self.study).path(RECORDS):
            return result.lines, ""
        report = result.value
        told = [line for line in result.data.get("alarms", ()) if line]
        verdict = _verdict(report, told, result.data["missing"])
        return [*told, *verdict, *self._only_checked()], report.to_html()

    def show(self, result: Any, line: str) -> None:
        """Show it; what was read about harm for the first time is said in the other forms too."""
        if result.data.get("harm_news"):
            self.moved_on()
        super().show(result, line)

    def _only_checked(self) -> list[str]:
        """Say that a file from elsewhere was checked, and that the study reads its own workbook."""
        if not self.inputs["which"].value:
            return []
        place = opened(self.study).path(RECORDS).as_posix()
        return [
            f"This file was only checked. The study reads {place}. Once nothing blocks, press "
            f"'{_USE}': your file takes its place, and the earlier one stays beside it."
        ]

    def use_it(self) -> Any:
        """Let the checked file take the place of the records, with nothing caught."""
        file = self.inputs["file"].value.strip() if "file" in self.inputs else ""
        if not file:
            raise UserError("No file is named.", "Name it under 'Another file', or choose it.")
        return self.perform(Call(take_records, {"study": self.study, "file": file}))

    def _named(self, change: Any) -> None:
        """Take a file that was named for the one that is meant."""
        self.inputs["which"].value = "other" if change["new"].strip() else ""

    def _take_in(self, name: str, content: bytes) -> None:
        """Keep a copy of the chosen file and check it."""
        kept = receive(self.study, name, content)
        self.inputs["file"].value = kept.value.as_posix()
        self.press()


def _verdict(report: Report, told: Sequence[str], missing: bool) -> list[str]:
    """Say what is left to do; with harm in play never so that it sounds like writing it away."""
    paused = any(line.startswith(PAUSE) for line in told)
    if not report.blocks:
        rest = "Nothing else here blocks" if paused else "Nothing here blocks"
        return [] if missing else [f"{rest} the analysis."]
    again = "in your spreadsheet program, save, and check again."
    harmed = any(one.sheet == "events" and one.severity == BLOCKS for one in report.problems)
    if missing or paused or harmed:
        return [f"Complete the places below {again} {KEEP_HARM}"]
    return [f"Put these places right {again}"]


def _whereabouts(workbook: Path) -> str:
    """Say where the workbook lies, as she finds it in a file manager."""
    folder = workbook.parent
    beside = "" if folder.is_absolute() else ", which lies where these notebooks lie"
    return f"The workbook: {workbook.name} in the folder {folder.as_posix()}{beside}."
