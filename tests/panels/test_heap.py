"""Libraries are set aside once they are loaded, and not again for nothing."""

import gc
import sys
from types import ModuleType

from pmulab.panels import heap


def test_only_what_was_loaded_since_is_worth_setting_aside(monkeypatch):
    calls = []
    monkeypatch.setattr(gc, "collect", lambda: calls.append("collect"))
    monkeypatch.setattr(gc, "freeze", lambda: calls.append("freeze"))
    monkeypatch.setattr(heap, "_known", 0)

    heap.set_libraries_aside()
    heap.set_libraries_aside()
    assert calls == ["collect", "freeze"]
    many = {f"invented_{number}": ModuleType("invented") for number in range(60)}
    for name, module in many.items():
        monkeypatch.setitem(sys.modules, name, module)
    heap.set_libraries_aside()
    assert calls == ["collect", "freeze"] * 2
