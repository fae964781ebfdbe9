"""The scoring form inside a notebook, as on the scoring page; every answer is kept at once."""

from collections.abc import Callable, Mapping
from typing import Any

import traitlets

from pmulab.panels.element import LISTEN, Element
from pmulab.scoring.page import scorer_script, scorer_style

_SHELL = """
export default {
  async render({ model, el }) {
    await listen(model);
    el.classList.add("pmulab-scorer");
    const root = document.createElement("div");
    el.append(root);
    const known = new Map();
    const waiting = new Map();
    const heard = (content, buffers) => {
      const done = waiting.get(content.picture);
      if (!done) return;
      done(URL.createObjectURL(new Blob([buffers[0]], { type: "image/jpeg" })));
    };
    model.on("msg:custom", heard);
    const store = {
      picture(name) {
        if (!known.has(name)) known.set(name, new Promise((done) => {
          waiting.set(name, done);
          model.send({ picture: name });
        }));
        return known.get(name);
      },
      told: () => "Every answer is written into the study folder at once.",
      save(answers) { model.send({ save: structuredClone(answers) }); },
    };
    startScoring(root, model.get("round"), store, structuredClone(model.get("answers")));
    return () => {
      model.off("msg:custom", heard);
      known.forEach((address) => address.then((each) => URL.revokeObjectURL(each)));
    };
  },
};
"""


class Scorer(Element):
    """One assessor's sheet.

    Parameters
    ----------
    sheet : mapping
        With 'round' and 'answers', as `score_here` gives it.
    picture : callable
        Gives a picture by its name.
    keep : callable
        Called with all answers after each change.
    """

    _esm = LISTEN + scorer_script() + _SHELL
    _css = scorer_style()
    round = traitlets.Dict().tag(sync=True)
    answers = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        sheet: Mapping[str, Any],
        picture: Callable[[str], bytes],
        keep: Callable[[Mapping[str, Any]], None],
    ) -> None:
        super().__init__(round=sheet["round"], answers=sheet["answers"])
        self._picture, self._keep = picture, keep
        self.on_msg(self.heard)

    def heard(self, _widget: object, content: Mapping[str, Any], _buffers: object) -> None:
        """Answer the form: give a picture, or keep the answers."""
        if "picture" in content:
            name = str(content["picture"])
            self.send({"picture": name}, [self._picture(name)])
        elif "save" in content:
            self._keep(content["save"])
            self.answers = content["save"]
