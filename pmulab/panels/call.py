"""What a panel asks for: a verb with its values, shown as the line of code that does the same."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Call:
    """A verb of the kit with the values it is given.

    Parameters
    ----------
    function : callable
    kwargs : mapping of str to value
        Plain values, so that the shown line can be run as it stands.
    """

    function: Callable[..., Any]
    kwargs: Mapping[str, Any]

    def __call__(self) -> Any:
        """Do it."""
        return self.function(**self.kwargs)

    def __str__(self) -> str:
        values = ", ".join(f"{name}={value!r}" for name, value in self.kwargs.items())
        return f"{self.function.__name__}({values})"
