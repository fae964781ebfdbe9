"""Names of a package that are loaded when they are first used (PEP 562)."""

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def lazily(package: str, places: Mapping[str, str]) -> Callable[[str], Any]:
    """Make the `__getattr__` of a package.

    Parameters
    ----------
    package : str
    places : mapping of name to str
        The module of the package that holds it.

    Returns
    -------
    callable
        Raises `AttributeError` for every other name.
    """

    def found(name: str) -> Any:
        if name in places:
            return getattr(import_module(f"{package}.{places[name]}"), name)
        raise AttributeError(f"module {package!r} has no attribute {name!r}")

    return found
