"""Choose the study that a notebook works on."""

from collections.abc import Callable, Sequence
from os import PathLike, fspath
from typing import Any

from ipywidgets import Button, Widget

from pmulab.panels.call import Call
from pmulab.panels.inputs import choice, note
from pmulab.panels.live import Live
from pmulab.panels.panel import Panel
from pmulab.stations.chosen import choose, chosen
from pmulab.stations.put_away import bring_back, put_away
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
        "This notebook follows the choice, and so do the others. The demo study is "
        "invented: try everything on it."
    )
    button = "Show how far it has come"
    keeps_typing = False

    def __init__(self, study: str | PathLike[str]) -> None:
        self._first = fspath(study)
        self._followers: list[Callable[[], None]] = []
        self._forms: list[Callable[[], str]] = []
        self._away = self.also("Put this study away", self.put_away)
        self._back = self.also("Bring back what was put away", self.bring_back)
        super().__init__(chosen(self._first))

    def __fspath__(self) -> str:
        return self.study

    def buttons(self) -> Sequence[Button]:
        """Give the three buttons."""
        return [self._button, self._away, self._back]

    def follow(self, refresh: Callable[[], None], unsaved: Callable[[], str] | None = None) -> None:
        """Call `refresh` whenever another study is chosen or the study has moved on.

        Parameters
        ----------
        refresh : callable
        unsaved : callable, optional
            Tells what was typed in that form and not saved yet.
        """
        self._followers.append(refresh)
        if unsaved is not None:
            self._forms.append(unsaved)

    def all_unsaved(self) -> list[str]:
        """List what was typed in the forms of this notebook and not saved yet."""
        return [told for form in self._forms for told in (form(),) if told]

    def shows(self, verb: Callable[..., Any], **given: Any) -> Live:
        """Show below a cell what a verb says of the chosen study, now and after every change.

        Parameters
        ----------
        verb : callable
            One that only looks, such as `standing`.
        **given
            Its other values.

        Returns
        -------
        Live
        """
        return Live(self, lambda: Call(verb, {"study": self.study} | given))

    def put_away(self) -> Any:
        """Leave the chosen study out of the list, with nothing caught."""
        return self._relisted(Call(put_away, {"study": self.study}), self._first)

    def bring_back(self) -> Any:
        """Put every study back on the list, with nothing caught."""
        return self._relisted(Call(bring_back, {}), self.study)

    def _relisted(self, call: Call, then: str) -> Any:
        result = call()
        self.choose_study(then)
        self.show(result, str(call))
        return result

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
        listed = studies()
        options = [(_option(one), one.folder) for one in listed.value]
        draft = any(one.folder == self.study and one.reached == "plan" for one in listed.value)
        self._away.layout.display = "" if draft and self.study != self._first else "none"
        self._back.layout.display = "" if listed.data["put_away"] else "none"
        if self.study not in [folder for _, folder in options]:
            options.append((self.study, self.study))
        self.inputs = {"study": choice("Study", options, self.study)}
        self.inputs["study"].observe(self._chosen, "value")
        return [
            self.inputs["study"],
            note(
                "All that stands below follows at once; only what is headed 'Demonstration' "
                "always tells of the invented demo study."
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
