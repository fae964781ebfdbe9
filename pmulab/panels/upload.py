"""Choose one file in the browser; one that is too large is told, never dropped in silence.

The list of kinds is left open on purpose: a browser passes over a file of another kind without a
word, while the station says what it can read.
"""

from collections.abc import Callable
from typing import Any

import anywidget
import traitlets

from pmulab.errors import UserError

MOST = 9_000_000
"""Bytes that every JupyterLab takes in one message; above 10 MB the line drops without a word."""

_CHOOSE = """
export default {
  render({ model, el }) {
    const label = document.createElement("label");
    label.textContent = model.get("label");
    const input = document.createElement("input");
    input.type = "file";
    label.append(input);
    el.append(label);
    input.addEventListener("change", async () => {
      const file = input.files[0];
      if (!file) return;
      const told = { name: file.name, size: file.size };
      try {
        const small = file.size <= model.get("most");
        if (small) model.send(told, undefined, [await file.arrayBuffer()]);
        else model.send(told);
      } catch (error) {
        model.send({ ...told, unreadable: true });
      }
      input.value = ""; // the same file can be chosen again after it was mended
    });
  },
};
"""


class ChooseFile(anywidget.AnyWidget):
    """A button that lets one file in.

    Parameters
    ----------
    label : str
    take : callable
        Given what the browser sent: the name of the file and its content; raises UserError for
        what it cannot take.
    guarded : callable
        Takes a step and tells what goes wrong in the page.
    """

    _esm = _CHOOSE
    label = traitlets.Unicode().tag(sync=True)
    most = traitlets.Int(MOST).tag(sync=True)

    def __init__(
        self,
        label: str,
        take: Callable[[str, bytes], Any],
        guarded: Callable[[Callable[[], Any]], None],
    ) -> None:
        super().__init__(label=label)
        self.add_class("pmulab-choose-file")
        self._take, self._guarded = take, guarded
        self.on_msg(self._chosen)

    def _chosen(self, _widget: Any, told: dict[str, Any], buffers: list[Any]) -> None:
        self._guarded(lambda: self._take(told["name"], _content(told, buffers)))


def _content(told: dict[str, Any], buffers: list[Any]) -> bytes:
    if told.get("unreadable"):
        raise UserError(
            f"{told['name']} could not be read by the browser.",
            "Close it in other programs, see that it is still there, and choose it again.",
        )
    if not buffers:
        raise UserError(
            f"{told['name']} has {told['size'] / 1e6:.0f} MB; at most {MOST // 1_000_000} MB can "
            "be taken in here. Nothing was changed.",
            "Put it into the study folder yourself, and name it under 'Another file'.",
        )
    return bytes(buffers[0])
