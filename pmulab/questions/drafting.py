"""A new plan.toml from a ready question, with a note beside each entry."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import MISSING, Field, fields
from textwrap import wrap
from typing import Any, get_args

from pmulab.devices import is_device
from pmulab.errors import UserError
from pmulab.plan import FORMAT, About, Analysis, Arm, Clients, Healed, Outcome, Promises
from pmulab.plan.model import Code, Word
from pmulab.questions.comments import AGAIN, ENTRIES, HEAD, MISSING_LIMIT, RECORDED, SECTIONS
from pmulab.questions.library import question

_WIDTH = 96
_LEFT_OUT = frozenset({"invented", "missing_limit", "recorded"})
_KINDS = {
    "study": About,
    "arm": Arm,
    "outcome": Outcome,
    "clients": Clients,
    "healed": Healed,
    "analysis": Analysis,
    "promises": Promises,
}


def draft(name: str, code: str, title: str = "") -> str:
    """Write the plan of a new study from a ready question.

    Parameters
    ----------
    name : str
        One of `pmulab.questions.names()`.
    code : str
        Short name of the study: small letters, digits and hyphens, 1 to 40.
    title : str, default=""
        At most 120 characters; the question's own title if empty.

    Returns
    -------
    str
        Text of plan.toml. `pmulab.plan.read_plan` accepts it; the promises that only the studio
        can make are still empty, and no smallest worthwhile difference is marked as her own.

    Raises
    ------
    UserError
        If there is no such question, or the code or title cannot be used.
    """
    data = question(name).data
    heading = " ".join(title.split())
    _check(code, heading)
    study = data["study"] | {"code": code, "library": name}
    if heading:
        study["title"] = heading
    parts = [
        _head(),
        _section("study", "study", study),
        _section("arms.A", "arm", data["arms"]["A"]),
        _section("arms.B", "arm", data["arms"]["B"]),
        _section("primary", "outcome", data["primary"]),
        *_further(data["secondary"]),
        *(
            _section(one, one, data.get(one, {}))
            for one in ("clients", "healed", "analysis", "promises")
        ),
    ]
    return "\n\n".join("\n".join(part) for part in parts) + "\n"


def _check(code: str, title: str) -> None:
    if not re.fullmatch(get_args(Code)[1].pattern, code) or is_device(code):
        raise UserError(
            f"{code!r} cannot be the short name of a study.",
            "Use 1 to 40 small letters, digits and hyphens, such as wipes-2026; "
            "but no name of a device, such as con or aux.",
        )
    longest = get_args(Word)[1].max_length
    if len(title) > longest:
        raise UserError(
            f"The title has {len(title)} characters.", f"Shorten it to {longest} at most."
        )


def _head() -> list[str]:
    return [
        *(line for note in HEAD for line in _note(note)),
        "",
        *_note(SECTIONS["format"]),
        f"format = {FORMAT}",
    ]


def _further(outcomes: Sequence[Mapping[str, Any]]) -> Iterator[list[str]]:
    for number, outcome in enumerate(outcomes):
        heading = [] if number else _note(SECTIONS["secondary"])
        yield [*heading, "[[secondary]]", *_outcome_again(outcome)]


def _outcome_again(outcome: Mapping[str, Any]) -> Iterator[str]:
    for key, value in _filled("outcome", outcome):
        if key in AGAIN:
            yield from _note(AGAIN[key].format(**outcome))
        yield f"{key} = {_toml(value)}"


def _section(header: str, kind: str, values: Mapping[str, Any]) -> list[str]:
    lines = [*_note(SECTIONS[header]), f"[{header}]"]
    for key, value in _filled(kind, values):
        note = ENTRIES[f"{kind}.{key}"]
        lines += _note(note.format(**values) if kind == "outcome" else note)
        lines.append(f"{key} = {_toml(value)}")
    if values.get("recorded"):
        lines += ["", *_note(SECTIONS["arm.recorded"]), f"[{header}.recorded]"]
        for name, one in values["recorded"].items():
            lines += [*_note(RECORDED), f"{name} = {_toml_line(one)}"]
    if kind == "outcome":
        limit = Outcome(**values).limit
        lines += [*_note(MISSING_LIMIT.format(**values)), f"# missing_limit = {_toml(limit)}"]
    return lines


def _filled(kind: str, values: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Give the entries of a section in the order of the plan, defaults filled in."""
    for one in fields(_KINDS[kind]):
        value = values.get(one.name, _default(one))
        empty_choice = one.name in ("pigment", "anchors") and not value
        if one.name not in _LEFT_OUT and not empty_choice:
            yield one.name, value


def _default(one: "Field[Any]") -> Any:
    return one.default_factory() if one.default_factory is not MISSING else one.default


def _note(text: str) -> list[str]:
    return [f"# {line}" for line in wrap(text, _WIDTH)]


def _toml_line(value: Any) -> str:
    """Write a value on one line, as its entry is read best."""
    listed = isinstance(value, list)
    return f"[{', '.join(map(_toml, value))}]" if listed else _toml(value)


def _toml(value: Any) -> str:
    from tomlkit import item, string

    if isinstance(value, list | tuple):
        rows = "".join(f"  {_toml(one)},\n" for one in value)
        return f"[\n{rows}]" if value else "[]"
    if isinstance(value, str) and "\n" in value:
        text = str(string(value, multiline=True).as_string())
        return text.replace('"""', '"""\n', 1)  # TOML drops this line break when reading
    return str(item(value).as_string())
