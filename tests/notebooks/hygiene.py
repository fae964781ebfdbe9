"""What a stored notebook has to be, beside running: told as a list of faults."""

import ast
import re
from collections.abc import Iterator

import nbformat

PANEL_TAG = "nbval-ignore-output"
NOT_RUN = "Form: choose Run > Run All Cells to show it."
LARGEST = 40_000
"""Characters of a stored notebook; a picture or the state of widgets would be far more."""
_MACHINE = re.compile(
    r"(?:^|[\s'\"(>])(?:/(?:home|root|tmp|work|usr|Users)/|[A-Za-z]:\\)|0x[0-9a-f]{6,}"
)
_CLOCK = re.compile(r"\b\d{1,2}:\d{2}(?::\d{2})?\b|\b\d+(?:\.\d+)? ?(?:ms|µs)\b")
_VERSION = re.compile(r"\b(?:pmulab|numpy|scipy|pandas) \d+\.\d+")


def faults(notebook: nbformat.NotebookNode) -> list[str]:
    """List everything that a reader, or a comparison of outputs, would stumble over."""
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    return [
        *_frame(notebook, code),
        *(fault for cell in code for fault in _source(cell)),
        *(fault for cell in code for fault in _outputs(cell)),
    ]


def _frame(notebook, code) -> Iterator[str]:
    first = notebook.cells[0]
    if first.cell_type != "markdown" or "Run > Run All Cells" not in first.source:
        yield "the first cell does not say: Run > Run All Cells"
    named = code[0].source.startswith(("study", "practice"))
    if "parameters" not in code[0].metadata.get("tags", []) or not named:
        yield "the first code cell does not name the study, or the practice"
    if [cell.execution_count for cell in code] != list(range(1, len(code) + 1)):
        yield "the code cells were not run in order"
    if any("execution" in cell.metadata for cell in notebook.cells):
        yield "times of a run are stored"
    if len(nbformat.writes(notebook)) > LARGEST:
        yield f"larger than {LARGEST} characters"
    if "widgets" in notebook.metadata:
        yield "widget state is stored"
    if notebook.metadata.get("kernelspec", {}).get("name") != "python3":
        yield "the kernel is not python3"
    names = [cell.get("id") for cell in notebook.cells]
    if None in names or len(set(names)) != len(names):
        yield "cells have no ids of their own"
    if not any(_text(output) for cell in code if not _panel(cell) for output in cell.outputs):
        yield "no checked cell has a text output"


def _source(cell) -> Iterator[str]:
    tree = ast.parse(cell.source)
    if len(cell.source.splitlines()) > 3:
        yield f"{cell.id}: more than three lines"
    banned = (ast.FunctionDef, ast.ClassDef, ast.Lambda, ast.For, ast.While, ast.Try, ast.With)
    if any(isinstance(node, banned) for node in ast.walk(tree)):
        yield f"{cell.id}: code that belongs into the package"
    for node in ast.walk(tree):
        modules = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        modules += [name.name for name in node.names] if isinstance(node, ast.Import) else []
        if any(module.split(".")[0] != "pmulab" for module in modules):
            yield f"{cell.id}: imports something else than pmulab"
    if not cell.metadata.get("jupyter", {}).get("source_hidden"):
        yield f"{cell.id}: the code is not folded away"
    shows_form = "panels." in cell.source and "panels.Overview" not in cell.source
    if shows_form != _panel(cell):
        yield f"{cell.id}: a form is not marked as one, or is marked without being one"
    if shows_form and not cell.source.startswith("# Form"):
        yield f"{cell.id}: a form does not begin with a line that names it"


def _outputs(cell) -> Iterator[str]:
    for output in cell.outputs:
        if output.output_type == "error" or output.get("name") == "stderr":
            yield f"{cell.id}: an error or a warning is stored"
        data = output.get("data", {})
        told = "\n".join([output.get("text", ""), *map(str, data.values())])
        if _MACHINE.search(told) or _VERSION.search(told):
            yield f"{cell.id}: a path, an address or a version of this machine is stored"
        if _CLOCK.search(told):
            yield f"{cell.id}: a time of day or a duration is stored"
        if _panel(cell) and set(data) != {"text/plain"}:
            yield f"{cell.id}: more than the plain text of a form is stored"
        if _panel(cell) and data.get("text/plain") != NOT_RUN:
            yield f"{cell.id}: a form does not say what to do"
    if _panel(cell) and not cell.outputs:
        yield f"{cell.id}: a form was not run"


def _panel(cell) -> bool:
    return PANEL_TAG in cell.metadata.get("tags", [])


def _text(output) -> str:
    return output.get("text") or output.get("data", {}).get("text/plain", "")
