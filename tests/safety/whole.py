"""Whether a folder is whole after a kill: each file the old or the new one, nothing lost."""

import csv
import io
import json
import tomllib
import zipfile
from collections import Counter
from pathlib import Path

from PIL import Image

from pmulab.allocation import unseal
from pmulab.journal import read_journal
from pmulab.study import Study

_ONCE = {
    "plan locked": (),
    "client enrolled": ("client_code",),
    "client not enrolled": ("client_code",),
    "client never came": ("client_code",),
    "replacement enrolled": ("reason",),
    "reviewed after an adverse event": ("reviewed",),
    "planned look": ("complete",),
    "unplanned look": ("reason",),
    "study stopped": ("reason",),
    "scoring key opened": ("round",),
    "announced to the group": ("study",),
    "photo taken in": ("photo",),
    "amended": ("reason",),
}
_OWN_LINES = {"line cut short", "scoring round begun"}
_WHOLE = {
    ".toml": lambda data: tomllib.loads(data.decode()),
    ".json": json.loads,
    ".html": lambda data: _true(data.rstrip().endswith(b"</html>")),
    ".xlsx": lambda data: _true(zipfile.ZipFile(io.BytesIO(data)).testzip() is None),
    ".jpg": lambda data: Image.open(io.BytesIO(data)).load(),
    ".txt": lambda data: _true(data.endswith(b"\n")),
}
_WHOLE[".pptx"] = _WHOLE[".zip"] = _WHOLE[".xlsx"]


def _true(found):
    if not found:
        raise ValueError("cut short")


def contents(root):
    """Every file below a folder by name, without what writes leave beside their targets."""
    return {
        path.relative_to(root).as_posix(): path.read_bytes()
        for path in sorted(Path(root).rglob("*"))
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(root).parts)
    }


def faults(root, before, after):
    """Say what is neither old nor new; `before` and `after` hold the contents without a kill."""
    now = contents(root)
    told = [f"{name} is lost" for name in before if name not in now and name in after]
    for name, data in now.items():
        if data in (before.get(name), after.get(name)):
            continue
        if name in before and name in after and before[name] == after[name]:
            told.append(f"{name} was changed")
        elif name.endswith("journal.jsonl"):
            told += _journal_faults(root / name, before.get(name, b""))
        else:
            told += _broken(name, data, before.get(name, b""))
    return told


def _journal_faults(path, before):
    told = list(read_journal(path).changes())
    if not path.read_bytes().startswith(before):
        told.append(f"{path.name} lost lines")
    return told


def _broken(name, data, before):
    try:
        if name.endswith("allocation.csv"):
            unseal(data.decode(), name)
        elif name.endswith(".csv"):
            rows = list(csv.reader(io.StringIO(data.decode()), strict=True))
            _true(data.endswith(b"\n") and len({len(row) for row in rows}) == 1)
            _true(not name.endswith("clients.csv") or data.startswith(before))
        elif ".earlier-" in name:
            _true(bool(data))
        else:
            _WHOLE[Path(name).suffix](data)
    except Exception as error:
        return [f"{name} is neither old nor new: {type(error).__name__} {error}"]
    return []


def left_behind(root):
    """Files and folders of a write that never ended."""
    return [
        str(path)
        for path in Path(root).rglob(".*")
        if path.name.endswith(".part") or path.name.startswith(".new-")
    ]


def doubled(folder):
    """Say which entries stand twice, and which cards were given twice."""
    study = Study(folder)
    entries = study.journal()
    keys = Counter(
        (one.event, *(str(one.detail.get(key)) for key in _ONCE[one.event]))
        for one in entries
        if one.event in _ONCE
    )
    cards = Counter(one.slot.number for one in study.assignments())
    rows = Counter(row["client_code"] for row in study.asked().rows)
    return [f"{key} stands {n} times" for found in (keys, cards, rows)
            for key, n in found.items() if n > 1]  # fmt: skip


def events(folder):
    """The kinds of entries in a journal, without those that only a kill or a new start makes."""
    return {one.event for one in Study(folder).journal()} - _OWN_LINES
