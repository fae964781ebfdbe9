"""The archive of a pack, opened with distrust: nothing is unpacked to the disk, ever."""

import stat
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from pmulab.disk import read_bytes
from pmulab.errors import UserError
from pmulab.packs.model import FILES, MOST_BYTES, MOST_RATIO, MOST_UNPACKED

ASK_AGAIN = (
    "It was set aside and nothing was changed. Ask the studio to make the pack again (pmulab pack)."
)
_ENCRYPTED = 1
_ZIP = b"PK\x03\x04"


def refused(where: str, what: str, remedy: str = ASK_AGAIN) -> UserError:
    """Say why a pack is not taken in.

    Parameters
    ----------
    where : str
        Its file name.
    what : str
    remedy : str

    Returns
    -------
    UserError
    """
    return UserError(f"{where}: {what}", remedy)


def opened_archive(path: Path) -> dict[str, bytes]:
    """Read the files of a pack into memory.

    Parameters
    ----------
    path : Path

    Returns
    -------
    dict of str to bytes
        Exactly the files that a pack holds.

    Raises
    ------
    UserError
        If the file is a link, too large, no zip archive, locked with a password, or holds
        anything that a pack does not hold.
    """
    name = path.name
    if path.is_symlink():
        raise refused(name, "this is a link to another file.", "Copy the pack itself here.")
    if path.is_file() and path.stat().st_size > MOST_BYTES:
        raise refused(name, f"larger than {MOST_BYTES // 1_000_000} MB; a pack never is.")
    data = read_bytes(path)
    if not data.startswith(_ZIP):
        raise refused(name, "this is no pack: not a zip archive.", "Name a file that pack wrote.")
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            for fault in _faults(archive.infolist()):
                raise refused(name, fault)
            return {entry.filename: archive.read(entry) for entry in archive.infolist()}
    except (zipfile.BadZipFile, EOFError, NotImplementedError, OSError, ValueError) as error:
        raise refused(name, f"the archive is damaged ({_short(error)}).") from None
    except zlib.error:
        raise refused(name, "the archive is damaged (it cannot be unpacked).") from None


def _faults(entries: list[zipfile.ZipInfo]) -> Iterator[str]:
    """Say what is wrong with the list of an archive's files, before any is unpacked."""
    unpacked = sum(entry.file_size for entry in entries)
    packed = max(1, sum(entry.compress_size for entry in entries))
    if unpacked > MOST_UNPACKED or unpacked / packed > MOST_RATIO:
        yield f"small, but would unpack to {unpacked / 1e6:.0f} MB; it was not unpacked."
    counts = Counter(entry.filename.casefold() for entry in entries)
    for name, count in counts.items():
        if count > 1:
            yield f"holds {_shown(name)} {count} times."
    for entry in entries:
        yield from _entry_faults(entry)
    missing = FILES - {entry.filename for entry in entries}
    if missing:
        yield f"lacks {', '.join(sorted(missing))}."


def _entry_faults(entry: zipfile.ZipInfo) -> Iterator[str]:
    name = entry.filename
    if "/" in name or "\\" in name or name.startswith(".") or ":" in name:
        yield f"holds {_shown(name)}, which would land outside the pack."
    if entry.flag_bits & _ENCRYPTED:
        yield f"{_shown(name)} is locked with a password."
    if stat.S_ISLNK(entry.external_attr >> 16):
        yield f"{_shown(name)} is a link to another file."
    if name not in FILES:
        yield f"holds {_shown(name)}, which no pack holds."


def _shown(name: str) -> str:
    return repr(name if len(name) <= 60 else name[:57] + "...")


def _short(error: Exception) -> str:
    return str(error)[:80] or type(error).__name__
