"""Text that tells who a person is: names, e-mail, phone, birth date, postcode, address.

One finder for every free text, column name and file name.  It looks for forms, not for people:
it misses some and sometimes points to an innocent word, so a name found alone is only
'look at this'.  How many it misses is measured on labelled notes in `tests/privacy`.
"""

import re
from collections.abc import Iterator
from typing import Literal

from pmulab.tables.naming import names_in
from pmulab.tables.reaching import (
    addresses_in,
    birth_dates_in,
    emails_in,
    handles_in,
    phones_in,
    postcodes_in,
    without_lots,
)
from pmulab.tables.report import BLOCKS, LOOK, Fault

Kind = Literal[
    "e-mail address", "phone number", "birth date", "postcode", "street address",
    "social handle", "name",
]  # fmt: skip

_HEADERS: tuple[tuple[str, Kind], ...] = (
    (r"e\W?mail|mail", "e-mail address"),
    (r"phone|mobile|tel|telephone|whatsapp|cell", "phone number"),
    (r"dob|birth|birthday|birthdate|born|geburt\w*", "birth date"),
    (r"postcode|postal|zip|plz", "postcode"),
    (r"address|street|city|town", "street address"),
    (r"instagram|insta|facebook|tiktok|handle|social", "social handle"),
    (r"name|surname|firstname|lastname|forename|fullname|initials|vorname|nachname", "name"),
)


def find_identifiers(text: str, *, header: bool = False, lot_number: bool = False) -> list[Kind]:
    """Say which kinds of identifying text are in a piece of text.

    Parameters
    ----------
    text : str
    header : bool, default=False
        The text is a column name: words such as 'phone' count by themselves.
    lot_number : bool, default=False
        The text is a lot number: long numbers and codes are expected there.

    Returns
    -------
    list of str
        Each kind once, in a fixed order; empty when nothing was found.
    """
    if header:
        words = re.sub(r"[^a-z0-9]+", " ", text.casefold()).split()
        return [kind for form, kind in _HEADERS if any(re.fullmatch(form, w) for w in words)]
    found = _searched(text, lot_number=lot_number)
    return [kind for kind, words in found.items() if next(words, None) is not None]


def identifying_words(text: str) -> dict[Kind, tuple[str, ...]]:
    """Give what `find_identifiers` takes for identifying in a piece of text.

    Parameters
    ----------
    text : str

    Returns
    -------
    dict of kind to tuple of str
        Each word, number or address once, as it is written but for spaces.
    """
    found = {kind: _each_once(words) for kind, words in _searched(text).items()}
    return {kind: words for kind, words in found.items() if words}


def _each_once(words: Iterator[str]) -> tuple[str, ...]:
    """Leave out what says no more than another: 'call 030 1234567' beside '030 1234567'."""
    each = dict.fromkeys(" ".join(one.split()) for one in words)
    return tuple(one for one in each if not any(two in one for two in each if two != one))


def _searched(text: str, *, lot_number: bool = False) -> dict[Kind, Iterator[str]]:
    """Look for each kind, no further than is asked for."""
    no_lots, nothing = without_lots(text), iter(())
    mail = next(emails_in(text), None) is not None
    return {
        "e-mail address": emails_in(text),
        "phone number": nothing if lot_number else phones_in(no_lots),
        "birth date": birth_dates_in(no_lots),
        "postcode": nothing if lot_number else postcodes_in(no_lots),
        "street address": addresses_in(text),
        "social handle": nothing if mail else handles_in(text),
        "name": names_in(text),
    }


def with_article(kind: Kind) -> str:
    """Say a kind with its article: an e-mail address, a name."""
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def identifier_fault(kind: Kind, place: str, text: str) -> Fault:
    """Make the fault of one find.

    Parameters
    ----------
    kind : str
        As `find_identifiers` names it.
    place : str
        Where it stands, in words.
    text : str

    Returns
    -------
    Fault
        Blocks the analysis, except for a name, which may be an innocent word.
    """
    return Fault(
        "identifying_text",
        f"'{text}' in {place} looks like {with_article(kind)}.",
        "Take it out; a client is known by her code only, such as C042.",
        LOOK if kind == "name" else BLOCKS,
    )
