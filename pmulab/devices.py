"""What cannot be read as a file though it is named like one: devices and pipes."""

import re
from pathlib import Path

_DEVICE = re.compile(r"(?:con|prn|aux|nul|(?:com|lpt)[0-9¹²³])(?:\..*)?", re.IGNORECASE)


def is_device(name: str) -> bool:
    """Tell whether Windows takes a file name for a device, whatever its ending.

    Parameters
    ----------
    name : str

    Returns
    -------
    bool

    References
    ----------
    .. [1] Microsoft, Naming Files, Paths, and Namespaces: reserved names.
    """
    return bool(_DEVICE.fullmatch(name.strip()))


def never_ends(path: Path) -> bool:
    """Tell whether reading may wait for ever: a named pipe, a socket or a device.

    Parameters
    ----------
    path : Path

    Returns
    -------
    bool
        False where nothing is there, or nothing can be told of it.

    Raises
    ------
    OSError
        If it cannot be looked at.
    """
    return path.exists() and not path.is_file() and not path.is_dir()
