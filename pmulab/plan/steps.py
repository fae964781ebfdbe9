"""The steps of a way, one after the other."""

import re

_GOES_ON = re.compile(r"\n[ \t]+(?=\S)")


def step_lines(steps: str) -> tuple[str, ...]:
    """Give the steps of a way line by line.

    Parameters
    ----------
    steps : str
        As the plan holds them.

    Returns
    -------
    tuple of str
        Without empty lines; a line that begins with a space goes on with the line before.
    """
    lines = _GOES_ON.sub(" ", steps.strip()).splitlines()
    return tuple(filter(None, (" ".join(line.split()) for line in lines)))
