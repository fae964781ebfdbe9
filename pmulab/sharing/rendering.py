"""Pages for sharing from their templates, every text escaped."""

from typing import Any

from pmulab.pages import template


def rendered(name: str, **words: Any) -> str:
    """Fill a template of `pages/`.

    Parameters
    ----------
    name : str
        Of its file.
    **words
        What the template names; a name that is missing is an error.

    Returns
    -------
    str
        HTML; every text is escaped but what is marked as markup.
    """
    return template("pmulab.sharing", name).render(**words)
