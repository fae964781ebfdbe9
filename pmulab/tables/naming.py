"""Names of people in free text: after a title or a cue, before a verb of speech, or known as given.

The cues are common words of ten languages, from memory; `given_names.txt` tells where its names
come from.
"""

import re
from collections.abc import Iterator
from functools import cache
from importlib.resources import files

CAP = r"[A-ZÀ-ÖØ-ÞĀ-Ž][a-zß-öø-ÿā-ž'’]+(?:-[A-ZÀ-Þ][a-zß-ÿ]+)?"
"""One word with a capital letter, or two with a hyphen."""

_TITLED = re.compile(
    r"\b(?:Mrs|Ms|Mr|Miss|Mme|Mlle|Madame|Frau|Herr|Se[nñ]or(?:a|ita)?|Sra|Sr|Do[nñ]a|Sig(?:nor)?a"
    r"|Sig\.?ra|Dona|Pani|[Ff]ru|[Ff]rk|Mevr(?:ouw)?|[Mm]evr(?:ouw)?|Dhr|Paní)\b\.?\s"
    rf"(?:Dr\b\.?\s|[A-Z]\.\s)?({CAP})"
)
_DOCTOR = re.compile(rf"\bDr\b\.?\s(?:med\.\s)?({CAP})")
_CUED = re.compile(
    r"(?:(?<!pigment )(?<!shade )(?<!colour )(?<!color )(?<!file )(?<!product )(?<!photo )"
    r"\b(?i:name(?: is)?|surname|forename|nachname|vorname|name der kundin|prénom|nombre|apellidos?"
    r"|cognome|imię|nazwisko|efternamn|achternaam)\b\W{1,3}"
    r"|\b(?i:named|is called|heißt|signed(?: by)?|née|geb\.)\b\W{1,3})"
    rf"({CAP}|[A-Z]\.? ?[A-Z]\b)"
)
_INITIALS = re.compile(
    r"\b(?i:initials)\b\W{0,3}[A-Z]\.? ?[A-Z]\b"
    rf"|(?:^|\b(?i:for|with|by|to|from|and|of|client|signed)\W{{1,2}})[A-Z]\. ?(?:{CAP})"
)
_RELATED = re.compile(
    r"\b(?i:client|customer|kundin|sister|daughter|mother|friend|husband|partner|son|aunt|niece"
    r"|colleague|spoke (?:to|with)|talked (?:to|with)|reminded|thanks|told)\s"
    rf"({CAP})(?!\s(?:lid|eye|side))"
)
_OWNS = re.compile(rf"({CAP}?)['’]s\s(?i:wish|mother|daughter|sister|husband|friend|lids?|eyes?)\b")
_SPEAKS = re.compile(
    rf"({CAP})\s(?:(?:has|had)\s)?(?:asked|said|told|rang|phoned|called|texted|wants|wanted|wrote"
    r"|booked|cancell?ed|agreed|thanked|complained|fragte|sagte|möchte|ringde|rief)\b"
)
_WORD = re.compile(r"[^\W\d_]{3,}")
_LONG = 4
_NOBODY = frozenset(
    """
    a after again all also an and anyone april artist assistant aug august both but clear
    client clients clinic colleague customer daughter day dec doctor dr dry each everyone eye
    eyes feb friday friend from good gp group guest he healed her his husband i if it iris jan
    january july june kundin later left lid line many most lower march may monday mother
    neighbour next no nobody not nothing nov now nurse oct old on one optician other our
    partner pharmacist pharmacy photo physician pigment practice right same saturday sep she
    side sister skin son somebody someone still studio sunday supplier that the their then
    they this thursday trainer today tuesday two upper we wednesday week when who yes you
    left-hand right-hand advised
    """.split()  # noqa: SIM905
)


def names_in(text: str) -> Iterator[str]:
    """Find what seems to name a person in a text.

    Parameters
    ----------
    text : str

    Yields
    ------
    str
        The word or initials; some more than once.
    """
    for found in _INITIALS.finditer(text):
        yield found[0]
    for form in (_TITLED, _DOCTOR, _CUED, _RELATED, _OWNS, _SPEAKS):
        yield from (found[1] for found in form.finditer(text) if _somebody(found[1]))
    yield from filter(_is_given, _WORD.findall(text))


def _is_given(word: str) -> bool:
    """Tell whether a word is a given name; a short one only with its capital."""
    known = word.casefold() in _given_names()
    return known and (len(word) >= _LONG or word[0].isupper())


def _somebody(word: str) -> bool:
    return bool(word) and word.casefold().removesuffix("'s") not in _NOBODY


@cache
def _given_names() -> frozenset[str]:
    text = files("pmulab.tables").joinpath("given_names.txt").read_text(encoding="utf-8")
    lines = (line for line in text.splitlines() if not line.startswith("#"))
    return frozenset(word for line in lines for word in line.split())
