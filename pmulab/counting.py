"""Counted things in words: one in the singular, everything else in the plural."""

_OWN_PLURALS = {"study": "studies"}


def counted(number: int, noun: str) -> str:
    """Say a number of things.

    Parameters
    ----------
    number : int
    noun : str
        In the singular; of several words the first is put in the plural when 'of' or 'with'
        follows it, otherwise the last.

    Returns
    -------
    str
        '1 client', '12 clients', '3 pairs of answers', '0 silent studies'.
    """
    return f"{number:,} {noun if number == 1 else plural(noun)}"


def plural(noun: str) -> str:
    """Give the plural of a noun of one word or several.

    Parameters
    ----------
    noun : str

    Returns
    -------
    str
    """
    for small in (" of ", " with "):
        head, joined, rest = noun.partition(small)
        if joined:
            return f"{plural(head)}{joined}{rest}"
    before, space, word = noun.rpartition(" ")
    return f"{before}{space}{_OWN_PLURALS.get(word, f'{word}s')}"


def singular(noun: str) -> str:
    """Give the singular of a noun of one word or several; one that has none stays.

    Parameters
    ----------
    noun : str
        'segments of 10', 'percentage points', 'min'.

    Returns
    -------
    str
    """
    for small in (" of ", " with "):
        head, joined, rest = noun.partition(small)
        if joined:
            return f"{singular(head)}{joined}{rest}"
    before, space, word = noun.rpartition(" ")
    if word.endswith(("sses", "xes", "ches", "shes")):
        word = word.removesuffix("es")
    elif len(word) > 2 and not word.endswith("ss"):
        word = word.removesuffix("s")
    return f"{before}{space}{word}"


def were(number: int) -> str:
    """Give 'was' for one thing and 'were' for any other number.

    Parameters
    ----------
    number : int

    Returns
    -------
    str
    """
    return "was" if number == 1 else "were"
