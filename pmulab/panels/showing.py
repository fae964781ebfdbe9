"""Results as escaped HTML for the panels."""

from collections.abc import Iterable
from html import escape
from typing import Literal

Kind = Literal["done", "look", "problem"]


def paragraphs(lines: Iterable[str]) -> str:
    """Write lines as paragraphs.

    Parameters
    ----------
    lines : iterable of str

    Returns
    -------
    str
    """
    return "".join(f"<p>{escape(line)}</p>" for line in lines if line.strip())


def said(words: Iterable[str], kind: Kind) -> str:
    """Write what happened, so that a screen reader announces it.

    Parameters
    ----------
    words : iterable of str
    kind : {'done', 'look', 'problem'}

    Returns
    -------
    str
    """
    return f'<output role="status" class="pmulab-said pmulab-{kind}">{paragraphs(words)}</output>'


def line_of_code(line: str) -> str:
    """Write the call that does the same as a button.

    Parameters
    ----------
    line : str

    Returns
    -------
    str
    """
    return f"<p>The same as a line of a notebook:</p><pre>{escape(line)}</pre>"


def heading(words: str) -> str:
    """Write a heading inside a panel."""
    return f"<h4>{escape(words)}</h4>"


def page_frame(page: str, title: str) -> str:
    """Show a whole page, shut off from the notebook.

    Parameters
    ----------
    page : str
        HTML.
    title : str

    Returns
    -------
    str
    """
    return (
        f'<iframe title="{escape(title, quote=True)}" sandbox="" '
        f'srcdoc="{escape(page, quote=True)}"></iframe>'
    )
