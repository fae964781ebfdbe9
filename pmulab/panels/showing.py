"""Results as escaped HTML for the panels."""

from collections.abc import Iterable
from html import escape
from typing import Literal

from pmulab.panels.plain import in_notebooks

Kind = Literal["done", "look", "problem"]
NOT_RUN = "Form: choose Run > Run All Cells to show it."
CANCELLED = (
    "Stopped before it was done.",
    "What was saved before is still in the study folder. To see how it stands, choose "
    "Run > Run All Cells.",
)
_ASLEEP = """<style>
.jp-OutputArea:has(.pmulab-panel) > .jp-OutputArea-child:has(.pmulab-asleep) { display: none; }
.jp-OutputArea:has(.pmulab-asleep):not(:has(.pmulab-panel)) .jupyter-widgets { display: none; }
</style>"""


def paragraphs(lines: Iterable[str]) -> str:
    """Write lines as paragraphs, with notebooks in place of commands.

    Parameters
    ----------
    lines : iterable of str

    Returns
    -------
    str
    """
    return "".join(f"<p>{escape(in_notebooks(line))}</p>" for line in lines if line.strip())


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


def unforeseen(where: str, error: Exception) -> tuple[str, ...]:
    """Say that something went wrong which nobody foresaw, and no more than is known.

    Parameters
    ----------
    where : str
    error : Exception

    Returns
    -------
    tuple of str
    """
    return (
        "Something went wrong inside pmulab.",
        "What was saved before is still in the study folder. Whether this last step was saved "
        "cannot be told here: choose Run > Run All Cells and look, before you do it again.",
        "Please send this line to whoever helps you with pmulab:",
        f"{where}: {type(error).__name__}: {error}",
    )


def working() -> str:
    """Show that something takes a moment, with a way to stop it.

    Returns
    -------
    str
        HTML. The button asks JupyterLab to interrupt; what is being done then ends with a word.
    """
    return (
        '<output role="status" class="pmulab-said pmulab-done"><p>Working. This can take a few '
        'seconds.</p></output><progress aria-label="Working"></progress> '
        '<button type="button" class="jupyter-button pmulab-cancel" '
        'data-commandlinker-command="notebook:interrupt-kernel" data-commandlinker-args="{}">'
        "Stop</button>"
    )


def asleep() -> str:
    """Say how a form is woken, for a page that is opened again without its kernel.

    Returns
    -------
    str
        HTML; it hides itself beside a form that works, and hides JupyterLab's own message
        beside one that does not.
    """
    words = "This form is asleep. To wake it, choose Run > Run All Cells."
    return f'{_ASLEEP}<p class="pmulab-asleep">{words}</p>'


def line_of_code(line: str, repeats: str = "") -> str:
    """Write the call that does the same as a button.

    Parameters
    ----------
    line : str
    repeats : str, default=''
        What it repeats of a client; then it is folded away until somebody opens it.

    Returns
    -------
    str
    """
    same, shown = "The same as a line of a notebook", f"<pre>{escape(line)}</pre>"
    if not repeats:
        return f"<p>{same}:</p>{shown}"
    return f"<details><summary>{same} (it repeats {escape(repeats)})</summary>{shown}</details>"


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
