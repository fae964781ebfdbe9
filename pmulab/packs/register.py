"""The group register: plans announced before the first client, as plain files in a shared folder.

One file a study, and further ones for what became of it; nothing is ever written over, so that
a folder that is kept the same on several computers cannot lose an entry. Copies that such
programs make when two computers wrote at once are recognised and named, never read.
"""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal

import tomlkit
from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
)

from pmulab.devices import is_device
from pmulab.disk import decoded, disk_error, read_bytes, write_new
from pmulab.errors import UserError
from pmulab.findings.pooled import Registered, SetAside
from pmulab.plan import read_toml

FORMAT = 2
"""Version of the files that this release writes; it reads the older ones too."""
FOLDER = "register"
_ENTRY = re.compile(r"(?P<code>[a-z0-9][a-z0-9-]{0,39})\.(?P<study>[0-9a-f]{16})\.toml")
_NEWS = re.compile(
    r"(?P<code>[a-z0-9][a-z0-9-]{0,39})\.(?P<study>[0-9a-f]{16})\.news-(?P<number>\d{1,4})\.toml"
)
_MOST_BYTES = 20_000
_HEAD = (
    "Announced to the study group before the first client. Never change or delete this file; "
    "pmulab adds others beside it."
)
_Line = Annotated[str, StringConstraints(min_length=1, max_length=300, pattern=r"^[^\r\n\x00]*$")]
_Day = Annotated[str, AfterValidator(lambda text: date.fromisoformat(text).isoformat())]

NewsState = Literal["running", "analysed", "stopped"]


class _File(BaseModel):
    """A file of the register."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    format: Literal[1, 2]
    code: Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
    study: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class _Announced(_File):
    """An entry."""

    question: _Line
    primary: _Line
    unit: _Line
    worthwhile: Annotated[float, Field(gt=0)]
    planned: Annotated[int, Field(ge=2, le=1000)]
    registered: _Day
    due: _Day
    clients_then: Annotated[int, Field(ge=0)]


class _News(_File):
    """What became of a study."""

    day: _Day
    state: NewsState
    enrolled: Annotated[int, Field(ge=0)]


@dataclass(frozen=True, slots=True)
class Register:
    """What stands in a group's register.

    Parameters
    ----------
    entries : sequence of Registered
        As announced; `running`, `analysed` and `stopped` as told since.
    set_aside : sequence of SetAside
        Files that were not read, with the reason.
    """

    entries: tuple[Registered, ...] = ()
    set_aside: tuple[SetAside, ...] = ()


def announce(group: Path, entry: Registered) -> Path:
    """Write a study into the register.

    Parameters
    ----------
    group : Path
        The shared folder.
    entry : Registered

    Returns
    -------
    Path

    Raises
    ------
    UserError
        If it stands there already, or the folder cannot be written.
    """
    content = _Announced.model_validate(
        {"format": FORMAT}
        | {name: getattr(entry, name) for name in _Announced.model_fields if name != "format"}
    )
    return _written(group, entry_path(group, entry).name, content.model_dump(), _HEAD)


def entry_path(group: Path, entry: Registered) -> Path:
    """Give the file in which a study is announced.

    Parameters
    ----------
    group : Path
    entry : Registered

    Returns
    -------
    Path
    """
    return group / FOLDER / f"{entry.code}.{entry.study[:16]}.toml"


def tell(group: Path, entry: Registered, day: date, state: NewsState, enrolled: int) -> Path:
    """Add what became of a study; what was told before stays.

    Parameters
    ----------
    group : Path
        The shared folder.
    entry : Registered
    day : date
    state : {'running', 'analysed', 'stopped'}
    enrolled : int
        Clients so far.

    Returns
    -------
    Path

    Raises
    ------
    UserError
        If the folder cannot be written.
    """
    content = _News(
        format=2, code=entry.code, study=entry.study, day=day.isoformat(), state=state,
        enrolled=enrolled,
    ).model_dump()  # fmt: skip
    stem = f"{entry.code}.{entry.study[:16]}"
    taken = [
        int(found["number"])
        for path in (group / FOLDER).glob(f"{stem}.news-*.toml")
        if (found := _NEWS.fullmatch(path.name))
    ]
    return _written(group, f"{stem}.news-{max(taken, default=0) + 1}.toml", content, "News.")


def read_register(group: Path) -> Register:
    """Read a group's register.

    Parameters
    ----------
    group : Path

    Returns
    -------
    Register
        Empty if there is none yet.

    Raises
    ------
    UserError
        If the folder is not there.
    """
    if not group.is_dir():
        raise UserError(f"There is no folder {group}.", "Name the folder that the group shares.")
    entries: dict[str, Registered] = {}
    news: dict[str, list[tuple[int, _News]]] = defaultdict(list)
    aside: list[SetAside] = []
    for path in sorted((group / FOLDER).glob("*")):
        try:
            _take(path, entries, news)
        except UserError as error:
            aside.append(SetAside(path.name, error.what))
    told = [_with_news(entry, news.get(entry.study, [])) for entry in entries.values()]
    return Register(tuple(told), tuple(aside))


def _take(
    path: Path, entries: dict[str, Registered], news: dict[str, list[tuple[int, _News]]]
) -> None:
    if is_device(path.name):
        raise UserError("is named like a device of the computer; it was not read", "")
    if entry := _ENTRY.fullmatch(path.name):
        read = _read(path, _Announced)
        _same_name(path, read, entry["study"])
        entries[read.study] = Registered(**read.model_dump(exclude={"format"}))
    elif told := _NEWS.fullmatch(path.name):
        heard = _read(path, _News)
        _same_name(path, heard, told["study"])
        news[heard.study].append((int(told["number"]), heard))
    elif not path.name.startswith("."):
        raise UserError(_stranger(path.name), "Look at it with whoever keeps the folder.")


def _stranger(name: str) -> str:
    if name.endswith(".toml") and re.match(r"[a-z0-9][a-z0-9-]{0,39}\.[0-9a-f]{16}", name):
        return (
            "looks like a second copy that a program for shared folders made when two computers "
            "wrote at once; it was not read"
        )
    return "is no entry of the register; it was not read"


def _read(path: Path, model: type[Any]) -> Any:
    if path.is_symlink() or not path.is_file() or path.stat().st_size > _MOST_BYTES:
        raise UserError("is a link, a folder or far too large; it was not read", "")
    try:
        data = read_toml(decoded(read_bytes(path), path.name), "cannot be read as an entry", "")
        return model.model_validate(data)
    except ValidationError as error:
        version = data.get("format")
        if isinstance(version, int) and version > FORMAT:
            raise UserError("was written by a later release; install a newer pmulab", "") from None
        place = ".".join(map(str, error.errors()[0]["loc"]))
        raise UserError(f"is not as pmulab writes it (at {place}); it was not read", "") from None


def _same_name(path: Path, read: _File, study: str) -> None:
    if read.study[:16] != study or not path.name.startswith(f"{read.code}."):
        raise UserError("does not fit its own name; it was not read", "")


def _with_news(entry: Registered, told: list[tuple[int, _News]]) -> Registered:
    if not told:
        return entry
    latest = max(told, key=lambda one: one[0])[1]
    return replace(entry, state=latest.state)


def _written(group: Path, name: str, content: dict[str, Any], head: str) -> Path:
    document = tomlkit.document()
    for line in _lines(head):
        document.add(tomlkit.comment(line))
    document.update(content)
    place = group / FOLDER
    try:
        place.mkdir(exist_ok=True)
        write_new(place / name, tomlkit.dumps(document))
    except FileExistsError:
        raise UserError(
            f"{place / name} is there already.",
            "Nothing was changed: a plan is announced once, and news of it are added one by one.",
        ) from None
    except OSError as error:
        raise disk_error(error, place) from None
    return place / name


def _lines(text: str) -> Iterator[str]:
    from textwrap import wrap

    yield from wrap(text, 90)
