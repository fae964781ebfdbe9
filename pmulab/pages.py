"""Pages from their templates, every text escaped."""

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment, Template


def template(package: str, name: str) -> "Template":
    """Give a template of the folder `pages` of a package.

    Parameters
    ----------
    package : str
        Such as 'pmulab.sharing'.
    name : str
        Of the file.

    Returns
    -------
    Template
        A name that it lacks when it is filled is an error.
    """
    return _environment(package).get_template(name)


@cache
def _environment(package: str) -> "Environment":
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        autoescape=True,
        undefined=StrictUndefined,
        loader=PackageLoader(package, "pages"),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
