"""Choose the study that a notebook works on."""

from collections.abc import Callable, Sequence
from os import PathLike, fspath
from typing import Any

from ipywidgets import Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import choice, note
from pmulab.panels.panel import Panel
from pmulab.stations.chosen import choose, chosen
from pmulab.stations.standing import Standing, standing, studies


class ChooseStudy(Panel):
    """The studies below the working folder, and how far each has come.

    Other panels take it in place of a folder and follow the choice. It is kept in the working
    folder, so that every notebook opens with it.

    Parameters
    ----------
    study : path-like
        Chosen at first.
    """

    title = "Which study?"
    lead = (
        "The forms below follow this choice, and so do the other notebooks. The demo study is "
        "invented: try everything on it."
    )
    button = "Show how far it has come"
    keeps_typing = False

    def __init__(self, study: str | PathLike[str]) -> None:
        self._first = fspath(study)
        self._followers: list[Callable[[], None]] = []
        super().__init__(chosen(self._first))

    def __fspath__(self) -> str:
        return self.study

    def follow(self, refresh: Callable[[], None]) -> None:
        """Call `refresh` whenever another study is chosen or the study has moved on.

        Parameters
        ----------
        refresh : callable
        """
        self._followers.append(refresh)

    def moved_on(self, by: Callable[[], None] | None = None) -> None:
        """Let every panel look at the study again, but for the one that moved it.

        Parameters
        ----------
        by : callable, optional
            The `refresh` of that panel.
        """
        self.refresh()
        for refresh in self._followers:
            if refresh != by:
                refresh()

    def choose_study(self, folder: str, by: Callable[[], None] | None = None) -> None:
        """Choose another study.

        Parameters
        ----------
        folder : str
        by : callable, optional
            The `refresh` of a panel that stays as it is.
        """
        choose(folder, self._first)
        self._study = folder
        self.moved_on(by)

    def form(self) -> Sequence[Widget]:
        """Give the list of studies."""
        found = studies().value
        options = [(_option(one), one.folder) for one in found]
        if self.study not in [folder for _, folder in options]:
            options.append((self.study, self.study))
        self.inputs = {"study": choice("Study", options, self.study)}
        self.inputs["study"].observe(self._chosen, "value")
        return [
            self.inputs["study"],
            note(
                "After choosing another study: click the next grey bar below, then choose "
                "Run > Run Selected Cell and All Below, so that the numbers follow too."
            ),
        ]

    def call(self) -> Call:
        """Ask how far the chosen study has come."""
        return Call(standing, {"study": self.inputs["study"].value})

    def _chosen(self, change: Any) -> None:
        self.guarded(lambda: self.choose_study(change["new"]))
        self._clicked()


def _option(one: Standing) -> str:
    if one.reached == "unreadable":
        return f"{one.folder} (cannot be read)"
    return f"{one.folder} ({one.enrolled} of {one.planned} clients)"
