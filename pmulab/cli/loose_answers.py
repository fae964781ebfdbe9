"""Answers as people type them: curly quotes and bare words are read as they were meant."""

import re
import tomllib

_QUOTES = "\"'“”„‟‘’‚‛«»"
_MEANT = (
    re.compile(rf"^(\s*\w+\s*=\s*)[{_QUOTES}]([^{_QUOTES}\\]*)[{_QUOTES}](\s*(?:#.*)?)$"),
    re.compile(r"^(\s*\w+\s*=\s*)([A-Za-z0-9+][\w .:/+-]*?)(\s*(?:#.*)?)$"),
)


def mended(text: str) -> tuple[str, tuple[str, ...]]:
    """Put straight quotes around answers that were typed with others, or with none.

    Parameters
    ----------
    text : str
        One answer a line, `name = value`.

    Returns
    -------
    tuple of (str, tuple of str)
        The text with these lines mended, and how each was read.
    """
    lines, told = text.removeprefix("\ufeff").splitlines(), []
    for place, line in enumerate(lines):
        found = next((hit for form in _MEANT if (hit := form.match(line))), None)
        if found is not None and not _is_toml(line):
            lines[place] = f'{found[1]}"{found[2].strip()}"{found[3]}'
            told.append(f"line {place + 1} was read as: {lines[place].strip()}")
    return "\n".join(lines) + "\n", tuple(told)


def _is_toml(line: str) -> bool:
    try:
        tomllib.loads(line)
    except ValueError:
        return False
    return True
