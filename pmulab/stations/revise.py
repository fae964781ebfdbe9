"""Change entries of a plan that is not locked yet, keeping its comments."""

from collections.abc import Mapping
from itertools import chain, takewhile
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from pmulab.errors import UserError
from pmulab.plan import Plan, read_plan
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened
from pmulab.study import PLAN, Study, read_text
from pmulab.wording.plans import unlike_lines

MAIN = "primary"


def revise(study: Opened, changes: Mapping[str, Any]) -> Answer[Plan]:
    """Change entries of plan.toml before it is locked.

    Parameters
    ----------
    study : Study or path-like
    changes : mapping of str to value
        New values by entry, such as 'arms.A.label' or 'secondary.0.worthwhile'; None takes out
        an entry that may be missing. The entry 'primary' takes the name of a further outcome,
        which then changes places with the main one; entries below 'primary' belong to the new
        main outcome.

    Returns
    -------
    Answer
        Its value is the plan as it is now; numbers that contradict what the records have to
        show are problems found.

    Raises
    ------
    UserError
        If the plan is locked, an entry is unknown, or a value does not fit. Nothing is written
        then.
    """
    folder = opened(study)
    ordered = sorted(changes.items(), key=lambda change: change[0] != MAIN)
    with folder.writing():
        document = _parsed(folder)
        for entry, value in ordered:
            if entry == MAIN:
                _exchange(document, str(value))
            else:
                _put(document, entry, value)
        text = tomlkit.dumps(document)
        plan = _read(text)
        path = folder.rewrite_plan(text)
    told = ", ".join(entry for entry, _ in ordered) or "nothing"
    unlike = tuple(chain(*unlike_lines(plan)))
    lines = (f"Changed in the plan: {told}.", *unlike)
    return Answer(lines, plan, (path,), {"changed": sorted(changes)}, bool(unlike))


def _read(text: str) -> Plan:
    """Read the plan as it would be."""
    try:
        return read_plan(text, PLAN)
    except UserError as error:
        raise UserError(
            error.what,
            "Nothing was saved. Change what you entered there; a fault that stood in the file "
            "before is mended in a plain text editor.",
        ) from None


def _parsed(study: Study) -> tomlkit.TOMLDocument:
    """Read plan.toml with its comments; a plan that is broken is told with its line."""
    path = study.path(PLAN)
    text = read_text(path)
    try:
        return tomlkit.parse(text)
    except (TOMLKitError, ValueError):
        read_plan(text, str(path))
        raise UserError(f"{path} cannot be read.", "Mend it in a plain text editor.") from None


def _put(document: Any, entry: str, value: Any) -> None:
    """Set one entry; tables that are left to their defaults are made."""
    *way, last = entry.split(".")
    here = document
    try:
        for part in way:
            here = here[int(part)] if part.isdigit() else _within(here, part)
        if value is None:
            del here[last]
        else:
            _set(here, last, _written(value))
    except (IndexError, KeyError, TypeError, AttributeError, TOMLKitError):
        raise UserError(
            f"The plan has no entry {entry!r}.", "Entries are named as in plan.toml."
        ) from None


def _within(here: Any, name: str) -> Any:
    """Give a table by its name, made if it is left to its defaults."""
    if name not in here:
        _set(here, name, tomlkit.table())
    return here[name]


def _set(here: Any, name: str, value: Any) -> None:
    """Set an entry; the notes at the end of a table are on what follows it, and stay there."""
    if name in here or not isinstance(here, Table):
        here[name] = value
        return
    body = here.value.body
    notes = list(takewhile(lambda part: part[0] is None, reversed(body)))[::-1]
    del body[len(body) - len(notes) :]
    here[name] = value
    (here[name].value.body if isinstance(value, Table) else body).extend(notes)


def _written(value: Any) -> Any:
    if isinstance(value, str) and "\n" in value:
        return tomlkit.string(value, multiline=True)
    return list(value) if isinstance(value, tuple) else value


def _exchange(document: Any, name: str) -> None:
    """Let a further outcome change places with the main one."""
    try:
        known = [document[MAIN]["name"], *(one["name"] for one in document.get("secondary", ()))]
    except (KeyError, TypeError, TOMLKitError):
        raise UserError(
            f"{PLAN} has no main outcome, or an outcome without a name.",
            "Mend [primary] and [[secondary]] in a plain text editor.",
        ) from None
    if known[0] == name:
        return
    for other in document.get("secondary", ()):
        if other["name"] == name:
            main = document[MAIN]
            before, after = dict(main.unwrap()), dict(other.unwrap())
            _refill(main, after)
            _refill(other, before)
            return
    raise UserError(
        f"The plan has no outcome {name!r}.", f"Choose one of these: {', '.join(known)}."
    )


def _refill(table: Any, values: Mapping[str, Any]) -> None:
    for key in [key for key in table if key not in values]:
        del table[key]
    for key, value in values.items():
        table[key] = _written(value)
