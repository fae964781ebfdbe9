"""Where the notebooks and table templates lie: in the installed package, or beside it."""

from pathlib import Path
from typing import Literal

_PACKAGE = Path(__file__).parent


def installed(name: Literal["notebooks", "data_templates"]) -> Path:
    """Find a folder that comes with the kit.

    Parameters
    ----------
    name : {'notebooks', 'data_templates'}

    Returns
    -------
    Path
        The same from a wheel and from an editable install.

    Raises
    ------
    FileNotFoundError
        If the installation is incomplete.
    """
    for place in (_PACKAGE / "installed_files" / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"{name}: the installation of pmulab is incomplete")
