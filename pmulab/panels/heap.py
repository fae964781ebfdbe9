"""Keep Python from searching all loaded libraries for waste while somebody waits for a picture.

With these libraries such a search takes a quarter of a second and comes every few presses. What was
loaded stays in use to the end, so it is set aside once; what a press leaves behind is still found.
"""

import gc
import sys

_MANY = 50
"""Modules that came since the last time, from which it is worth doing again."""
_known = 0


def set_libraries_aside() -> None:
    """Do it after libraries were loaded, else nothing; call it when nobody waits any more."""
    global _known
    loaded = len(sys.modules)
    if loaded >= _known + _MANY:
        gc.collect()
        gc.freeze()
        _known = loaded
