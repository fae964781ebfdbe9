"""The page templates, filled in with everything escaped."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined


def rendered(template: str, **words: Any) -> str:
    """Fill in a page template.

    Parameters
    ----------
    template : str
        File name in `pages`.
    **words
        What the template names; a name that is missing is an error.

    Returns
    -------
    str
    """
    return _environment().get_template(template).render(**words)


@cache
def _environment() -> Environment:
    return Environment(
        autoescape=True,
        undefined=StrictUndefined,
        loader=PackageLoader("pmulab.sharing", "pages"),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
