"""Text that tells who a person is: names, e-mail, phone, birth date, postcode, address.

One finder for every free text, column name and file name.  It looks for forms, not for people:
it misses some and sometimes points to an innocent word, so a name found alone is only
'look at this'.  How many it misses is measured on labelled notes in `tests/privacy`.
"""

import re
from typing import Literal

from pmulab.tables.naming import has_name
from pmulab.tables.reaching import (
    EMAIL,
    HANDLE,
    has_address,
    has_birth_date,
    has_phone,
    has_postcode,
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
    no_lots = without_lots(text)
    mail = bool(EMAIL.search(text))
    found: dict[Kind, bool] = {
        "e-mail address": mail,
        "phone number": not lot_number and has_phone(no_lots),
        "birth date": has_birth_date(no_lots),
        "postcode": not lot_number and has_postcode(no_lots),
        "street address": has_address(text),
        "social handle": not mail and bool(HANDLE.search(text)),
        "name": has_name(text),
    }
    return [kind for kind, there in found.items() if there]


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
    article = "an" if kind[0] in "aeiou" else "a"
    return Fault(
        "identifying_text",
        f"'{text}' in {place} looks like {article} {kind}.",
        "Take it out; a client is known by her code only, such as C042.",
        LOOK if kind == "name" else BLOCKS,
    )
