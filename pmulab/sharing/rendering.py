"""Pages from their templates, every text escaped."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined


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


def rendered(template: str, **words: Any) -> str:
    """Fill a template of `pages/`.

    Parameters
    ----------
    template : str
        Name of its file.
    **words
        What the template names; a name that is missing is an error.

    Returns
    -------
    str
        HTML; every text is escaped but what is marked as markup.
    """
    return _environment().get_template(template).render(**words)
