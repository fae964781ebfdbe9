"""Run the notebooks on the demonstration and keep their outputs.

python tests/notebooks/regenerate.py

The outputs of the checked cells are what `pytest --nbval` compares with; forms are kept as their
plain text only, so that the files do not change from run to run.
"""

import shutil
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import nbformat
from nbclient import NotebookClient

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
_WIDGET = "application/vnd.jupyter.widget-view+json"


def run(path: Path) -> nbformat.NotebookNode:
    """Run one notebook in its own folder and give it with its outputs."""
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook,
        timeout=120,
        kernel_name="python3",
        resources={"metadata": {"path": str(path.parent)}},
        store_widget_state=False,
        record_timing=False,
    )
    client.execute()
    notebook.metadata["language_info"] = {"name": "python"}
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs = [output for output in cell.outputs if not _asleep(output)]
            for output in cell.outputs:
                output.get("data", {}).pop(_WIDGET, None)
    return notebook


def _asleep(output: nbformat.NotebookNode) -> bool:
    """Tell the sentence that stands beside a form in JupyterLab; a stored form has its own."""
    return "pmulab-asleep" in output.get("data", {}).get("text/html", "")


def main() -> int:
    """Run every notebook on a copy and write the outputs back."""
    with TemporaryDirectory() as folder:
        for source in sorted(NOTEBOOKS.glob("*.ipynb")):
            copy = Path(shutil.copy(source, folder))
            source.write_text(nbformat.writes(run(copy)) + "\n", encoding="utf-8")
            print(source.name)
    return 0


if __name__ == "__main__":
    sys.exit(main())
