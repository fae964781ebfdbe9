"""Say where a step is done in the notebooks, where a station names the command for it."""

import re

_PLACES = {
    "new": "notebook 01",
    "size": "notebook 01",
    "lock": "notebook 01",
    "enrol": "notebook 02 (Ask one client)",
    "absent": "notebook 02 (A client with a card who never came)",
    "check": "notebook 02 (Check the records)",
    "analyse": "notebook 05",
    "handout": "notebook 06",
}
_COMMAND = re.compile(
    rf"pmulab ({'|'.join(_PLACES)}) (?:(?!\)|  |\. |\.?$).)*(  (?=[A-Z]))?", re.MULTILINE
)
_OPTIONS = {
    "--stopped": ", End the study early",
    "--reviewed": ", with the entry 'After an adverse event: who reviewed it'",
}
_REST = (
    (re.compile(r' *\(in a notebook: reviewed="\.\.\."\)'), ""),
    (re.compile(r" *\(--unplanned\)"), ""),
    (re.compile(r'--replacement "for whom and why"'), "see 'For whom this client comes, and why'"),
    (re.compile(r"e\.g\. --sd "), "e.g. "),
)


def in_notebooks(text: str) -> str:
    """Put the notebook and the form in place of a command.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """

    def place(found: re.Match[str]) -> str:
        options = [words for option, words in _OPTIONS.items() if option in found[0]]
        # on its own line of a message a command has no full stop: it would be copied with it
        return _PLACES[found[1]] + "".join(options) + (". " if found[2] else "")

    text = _COMMAND.sub(place, text)
    for pattern, words in _REST:
        text = pattern.sub(words, text)
    return text
