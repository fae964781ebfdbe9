"""The commands: each names a folder, says what it wrote, and ends with 0, 1 or 2.

0: done. 1: problems were found in the data, or the client does not take part. 2: wrong use.
"""

import os
import sys

from pmulab.cli import one_study, photos, sharing  # in this order help lists the commands
from pmulab.cli.app import app, stop
from pmulab.errors import UserError

__all__ = ["app", "main", "one_study", "photos", "sharing"]


def main() -> None:
    """Run a command; wrong use and surprises end with a plain word, never with a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        app()
    except UserError as error:
        stop(f"{error.what}\n{error.remedy}")
    except KeyboardInterrupt:
        stop("Stopped. Nothing was lost.")
    except Exception as error:
        if os.environ.get("PMULAB_TRACE"):
            raise
        told = f"{type(error).__name__}: {error}"
        stop(
            "Something went wrong inside pmulab. Nothing that you typed was overwritten.\n"
            f"Please report this line: {told}"
        )
