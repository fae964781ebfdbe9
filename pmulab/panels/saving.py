"""What a notebook keeps when it is saved: its text and its forms, never what a study showed.

JupyterLab stores the outputs of cells in the notebook file, which people send on without a thought.
This part of the server, switched on by `pmulab lab`, takes them out before a notebook is written;
on the screen they stay until it is closed, and Run > Run All Cells shows them again.
"""

from collections.abc import Mapping
from typing import Any

from pmulab.panels.showing import NOT_RUN, asleep

NOT_KEPT = (
    "What stood here is not saved with the notebook, so that no client's numbers lie in it. "
    "To see it again, choose Run > Run All Cells."
)
_VIEW = "application/vnd.jupyter.widget-view+json"


def without_results(model: Mapping[str, Any], **_others: Any) -> None:
    """Take what cells showed out of a notebook that is about to be saved.

    Parameters
    ----------
    model : mapping
        As the contents service of Jupyter hands it over; changed in place. What is no notebook
        stays as it is.
    """
    content = model.get("content")
    if model.get("type") != "notebook" or not isinstance(content, dict):
        return
    content.get("metadata", {}).pop("widgets", None)
    for cell in content.get("cells", ()):
        cell.get("metadata", {}).pop("execution", None)
        if cell.get("cell_type") == "code" and cell.get("outputs"):
            cell["outputs"] = _kept(cell["outputs"])


def _kept(outputs: list[Any]) -> list[Any]:
    forms = [one for one in outputs if _is_form(one)]
    if len(forms) == len(outputs):
        return forms
    words = {"output_type": "stream", "name": "stdout", "text": NOT_KEPT + "\n"}
    return [*forms, words]


def _is_form(output: Any) -> bool:
    """Whether an output is a form: a view without content, and the sentence of a sleeping form."""
    data = output.get("data", {})
    text = data.get("text/plain", "")
    known = {"text/plain", "text/html", _VIEW}
    html = "".join(data.get("text/html", asleep()))
    return "".join(text) == NOT_RUN and set(data) <= known and html == asleep()


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": __name__}]


def _load_jupyter_server_extension(server: Any) -> None:
    server.contents_manager.register_pre_save_hook(without_results)
