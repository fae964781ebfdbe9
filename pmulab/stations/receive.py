"""Take in a file that was chosen in the browser, beside everything that is there already."""

from pathlib import Path, PurePath

from pmulab.errors import UserError
from pmulab.stations.answer import Answer
from pmulab.stations.opening import Opened, opened

_ENDINGS = (".xlsx", ".csv", ".tsv", ".txt")


def receive(study: Opened, name: str, content: bytes) -> Answer[Path]:
    """Keep an uploaded file in the study folder, under a new name.

    Parameters
    ----------
    study : Study or path-like
    name : str
        Its name where it comes from; only the ending is used, as names may tell people.
    content : bytes

    Returns
    -------
    Answer
        Its value is the path of the copy. No file is ever overwritten.

    Raises
    ------
    UserError
        If the file is empty or of another kind.
    """
    folder = opened(study)
    ending = PurePath(name).suffix.lower()
    if ending not in _ENDINGS:
        raise UserError(
            f"A file that ends with {ending or 'nothing'!r} cannot be checked.",
            f"Choose a file that ends with one of: {', '.join(_ENDINGS)}",
        )
    if not content:
        raise UserError("The chosen file is empty.", "Save it in its own program first.")
    with folder.writing():
        number = 1
        while folder.path(f"uploaded-{number}{ending}").exists():
            number += 1
        path = folder.keep(f"uploaded-{number}{ending}", content)
        folder.record("file received", file=path.name, content=folder.file_hash(path.name))
    return Answer((f"A copy is kept as {path.name} in the study folder.",), path, (path,))
