"""Elements of our own in a form, which hear Python however slowly a page loads.

anywidget gives an element two seconds to load; to one that took longer it never hands on anything
that Python sends, and a photo stays away for good. Such an element listens by itself instead, and
asks for all that it may have missed.
"""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

import anywidget
import traitlets

LISTEN = """
async function listen(model) {
  const own = await model.widget_manager.get_model(model.get("own_id"));
  const heard = Object.getPrototypeOf(own.constructor.prototype)._handle_comm_msg;
  try {
    await own._handle_comm_msg({ content: { data: {} } });
  } catch {
    own.comm.on_msg((message) => heard.call(own, message));
    model.send({ missed: true });
  }
}
"""
"""JavaScript for the top of an element; its `render` begins with `await listen(model)`."""


class Element(anywidget.AnyWidget):
    """An element whose script begins with `LISTEN`."""

    own_id = traitlets.Unicode().tag(sync=True)
    """By which its script finds itself among all widgets of a page."""

    def __init__(self, **traits: Any) -> None:
        own_id = uuid4().hex
        super().__init__(model_id=own_id, own_id=own_id, **traits)
        self.on_msg(self._asked)

    def _asked(self, _widget: object, content: Any, _buffers: object) -> None:
        if isinstance(content, Mapping) and content.get("missed"):
            self.send_state()
