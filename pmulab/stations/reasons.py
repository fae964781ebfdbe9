"""Words that stay in the journal and on what is printed: none of them may tell who a person is."""

from collections.abc import Iterator

from pmulab.errors import UserError
from pmulab.tables import find_identifiers


def refuse_telling(words: str, what: str = "The reason") -> None:
    """Refuse words that look as if they told who a person is, before they are written down.

    Parameters
    ----------
    words : str
    what : str, default='The reason'
        Named in the message.

    Raises
    ------
    UserError
        If a name, a number, an address or the like seems to stand there.
    """
    kinds = find_identifiers(words)
    if kinds:
        raise UserError(
            f"{what} looks as if it told who a person is ({', '.join(kinds)}).",
            "Say it without names, dates of birth and numbers: write the client's code, or a role "
            "such as 'her eye doctor' or 'my trainer'. It stays in the journal and is printed. "
            "Nothing was written down.",
        )


def maker_lines(made_by: str) -> Iterator[str]:
    """Warn of a way to reach somebody in what is printed as the maker; a studio's name is hers.

    Parameters
    ----------
    made_by : str

    Yields
    ------
    str
        Nothing where it holds nothing of the kind.
    """
    kinds = [kind for kind in find_identifiers(made_by) if kind != "name"]
    if kinds:
        yield (
            f"Mind: 'made by' looks as if it held: {', '.join(kinds)}. Everyone who gets the page "
            "sees it; leave it out unless you want that."
        )
