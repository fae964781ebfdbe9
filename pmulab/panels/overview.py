"""Her studies at a glance: how far each has come, what is next, and the notebook for it."""

import re
from collections.abc import Iterator
from html import escape

from pmulab.installed import installed
from pmulab.panels.live import Followed, shown_in_place
from pmulab.stations.standing import Standing, studies

_NUMBER = re.compile(r"\((?:notebook )?(\d\d)\)")


class Overview:
    """A table of the studies below the working folder, with links to the notebooks.

    Links are shown by the notebook itself and not by a form, so that JupyterLab opens them.

    Parameters
    ----------
    study : ChooseStudy, optional
        The table is shown anew in its place when the choice changes.
    """

    def __init__(self, study: Followed | None = None) -> None:
        self._study = study
        self._look()

    def _look(self) -> None:
        answer = studies()
        self.found = answer.value
        self.away = ", ".join(answer.data["put_away"])

    def __repr__(self) -> str:
        told = [f"{one}\nNext: {one.next_step}" for one in self.found]
        told = told or ["There is no study here yet: begin one in notebook 01."]
        return "\n".join([*told, *self._put_away()])

    def _put_away(self) -> list[str]:
        return [f"Put away from this list: {self.away}."] if self.away else []

    def now(self) -> dict[str, str]:
        """Give the table as it is now, as text and as HTML."""
        self._look()
        return {"text/plain": repr(self), "text/html": self._repr_html_()}

    def _ipython_display_(self) -> None:
        from IPython.display import display

        if self._study is None:
            display(self.now(), raw=True)
        else:
            shown_in_place(self._study, self.now)

    def _repr_html_(self) -> str:
        if not self.found:
            return f"<p>{escape(repr(self))}</p>"
        head = "".join(
            f'<th scope="col" style="text-align:left">{title}</th>'
            for title in ("Study", "How far", "What is next")
        )
        rows = "".join(f"<tr>{''.join(_cells(one))}</tr>" for one in self.found)
        table = f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
        return table + "".join(f"<p>{escape(line)}</p>" for line in self._put_away())


def _cells(one: Standing) -> Iterator[str]:
    yield f'<th scope="row" style="text-align:left">{escape(one.folder)}</th>'
    reached = str(one).rpartition("Reached: ")[2].rstrip(".")
    clients = f"{one.enrolled} of {one.planned} clients" if one.planned else one.title
    yield f'<td style="text-align:left">{escape(reached)}<br>{escape(clients)}</td>'
    yield f'<td style="text-align:left">{_linked(one.next_step)}</td>'


def _linked(step: str) -> str:
    """Make the numbers of notebooks in a sentence links to them."""
    files = {path.name[:2]: path.name for path in installed("notebooks").glob("*.ipynb")}

    def link(found: re.Match[str]) -> str:
        name = files.get(found[1])
        return f'(<a href="{name}">notebook {found[1]}</a>)' if name else found[0]

    return _NUMBER.sub(link, escape(step))
