"""Files on the disk: read whole, written whole, and every refusal of the disk told in words."""

import errno
import os
import re
import shlex
import tempfile
from contextlib import suppress
from hashlib import sha256
from os import PathLike
from pathlib import Path

from pmulab.devices import never_ends
from pmulab.errors import UserError

_FULL = ("the disk is full", "Free some space, then try again.")
_READ_ONLY = ("the folder is read-only", "Choose a folder of your own, then try again.")
_IN_USE = (
    "another program holds it open, or writing is not allowed there",
    "Close it in the spreadsheet program or editor, then try again. If it is open nowhere, "
    "choose a folder of your own.",
)
_BROKEN = ("the disk fails", "Copy the folder to another disk while it can still be read.")
_TOLD = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EFBIG: ("the disk takes no file of that size", _FULL[1]),
    errno.EROFS: _READ_ONLY,
    errno.EACCES: _IN_USE,
    errno.EPERM: _IN_USE,
    errno.EBUSY: _IN_USE,
    errno.EIO: _BROKEN,
}


def read_bytes(path: Path) -> bytes:
    """Read a file whole.

    Parameters
    ----------
    path : Path

    Returns
    -------
    bytes

    Raises
    ------
    UserError
        If it is not there, is no file but a pipe or a device, or cannot be opened.
    """
    try:
        if never_ends(path):
            raise UserError(
                f"{path} is no file: a pipe or a device stands in its place.",
                "Put the file itself there. Nothing was read.",
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise UserError(
            f"{path} is not there.", "Check the folder; restore it from a copy."
        ) from None
    except OSError as error:
        raise disk_error(error, path) from None


def read_text(path: Path) -> str:
    """Read a UTF-8 text file; every line end becomes a line feed.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str

    Raises
    ------
    UserError
        If it is not there, cannot be opened, or is no text.
    """
    text = decoded(read_bytes(path), str(path))
    return text.replace("\r\n", "\n").replace("\r", "\n")


def decoded(data: bytes, where: str) -> str:
    """Read bytes as UTF-8, with or without its mark at the head.

    Parameters
    ----------
    data : bytes
    where : str
        File name used in messages.

    Returns
    -------
    str
        With the line ends it has.

    Raises
    ------
    UserError
        If it is no text.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UserError(
            f"{where} is not saved as UTF-8 text.",
            "Open it in a plain text editor and save it with the encoding UTF-8.",
        ) from None


def content_hash(path: Path) -> str:
    """Give the SHA-256 of a file, '' when it is not there.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str
    """
    return sha256(read_bytes(path)).hexdigest() if path.is_file() else ""


def write_atomically(path: Path, content: str | bytes) -> None:
    """Write a file so that a crash leaves the old one or the new one, whole.

    Parameters
    ----------
    path : Path
    content : str or bytes
        Text is written as UTF-8 with the line ends it has.
    """
    data = content.encode() if isinstance(content, str) else content
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        _inherit_mode(path, temporary)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def write_new(path: Path, content: str | bytes) -> None:
    """Write a file that is not there yet, whole or not at all.

    Parameters
    ----------
    path : Path
    content : str or bytes

    Raises
    ------
    FileExistsError
        If it is there, even if another program made it a moment ago.
    """
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=".new-") as aside:
        temporary = Path(aside) / path.name
        write_atomically(temporary, content)
        try:
            os.link(temporary, path)
        except FileExistsError:
            raise
        except OSError:  # a disk without hard links; never a moment with half a file on it
            if path.exists():
                raise FileExistsError(errno.EEXIST, "File exists", str(path)) from None
            os.rename(temporary, path)
    sync_folder(path.parent)


def append(path: Path, data: bytes) -> None:
    """Add bytes at the end of a file and wait until the disk holds them.

    Parameters
    ----------
    path : Path
        Made if it is not there.
    data : bytes
    """
    fresh = not path.exists()
    with path.open("ab", buffering=0) as file:
        size, rest = file.tell(), data
        try:
            while rest:
                rest = rest[file.write(rest) or 0 :]
            os.fsync(file.fileno())
        except OSError:
            with suppress(OSError):  # nothing half-written stays where the disk still lets go of it
                os.ftruncate(file.fileno(), size)
            raise
    if fresh:
        sync_folder(path.parent)


def disk_error(error: OSError, path: Path) -> UserError:
    """Say in words why the disk refused.

    Parameters
    ----------
    error : OSError
    path : Path
        Named when the error names no file.

    Returns
    -------
    UserError
    """
    other = ("the disk refused", "Look at the disk and the folder, then try again.")
    told, remedy = _TOLD.get(error.errno or 0, (error.strerror or other[0], other[1]))
    named = error.filename2 or error.filename or path
    return UserError(
        f"{named} could not be read or written: {told}.",
        f"Nothing that you typed was overwritten. {remedy}",
    )


def _inherit_mode(path: Path, temporary: str) -> None:
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~umask()
    os.chmod(temporary, mode)


def umask() -> int:
    """Give the permissions that this computer takes from new files.

    Returns
    -------
    int
    """
    mask = os.umask(0)
    os.umask(mask)
    return mask


def sync_folder(folder: Path) -> None:
    """Wait until the disk holds the names in a folder.

    Parameters
    ----------
    folder : Path
    """
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def typed(path: str | PathLike[str]) -> str:
    """Write a path as it has to be typed after a command.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    str
        In double quotes, which every shell takes, where a space or the like would part it.
    """
    text = os.fspath(path)
    if re.fullmatch(r"[\w./\\:~-]+", text):
        return text
    return shlex.quote(text) if re.search(r'["$`!]', text) else f'"{text}"'
