"""What follows from the same records is worked out once, however often it is asked for."""

from collections.abc import Callable, Hashable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar, cast
from weakref import WeakKeyDictionary

from pmulab.tables.records import Records

_Given = ParamSpec("_Given")
_Found = TypeVar("_Found")


def once(
    work: Callable[Concatenate[Records, _Given], _Found],
) -> Callable[Concatenate[Records, _Given], _Found]:
    """Keep what a function gave for as long as its records are in use.

    Parameters
    ----------
    work : callable
        Given records, which nobody changes, and hashable values after them.

    Returns
    -------
    callable
        The same function; whoever asks again gets the same object and must not change it.
    """
    kept: WeakKeyDictionary[Records, dict[Hashable, Any]] = WeakKeyDictionary()

    @wraps(work)
    def asked(records: Records, /, *given: _Given.args, **named: _Given.kwargs) -> _Found:
        known = kept.setdefault(records, {})
        question = (given, tuple(sorted(named.items())))
        if question not in known:
            known[question] = work(records, *given, **named)
        return cast("_Found", known[question])

    return asked
