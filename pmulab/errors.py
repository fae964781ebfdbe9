"""The one exception of the kit: wrong use, told so that an artist can put it right.

Problems in data are never raised; they are rows of a report (`pmulab.tables.Report`).
"""


class UserError(Exception):
    """Something was asked that cannot be done as asked.

    Parameters
    ----------
    what : str
        What is wrong and where (file, sheet, row, column), in plain words.
    remedy : str
        What to do about it.
    """

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(what, remedy)
        self.what = what
        self.remedy = remedy

    def _render_traceback_(self) -> list[str]:
        """Show the words alone in a notebook, not the lines of code that led there."""
        return [self.what, self.remedy]

    def __str__(self) -> str:
        return f"{self.what}\n{self.remedy}"


def line_in_json(error: Exception) -> str:
    """Say on which line a JSON text cannot be read.

    Parameters
    ----------
    error : Exception
        As `json.loads` raised it.

    Returns
    -------
    str
        ', line N', or '' when the error does not know.
    """
    number = getattr(error, "lineno", None)
    return f", line {number}" if number else ""
