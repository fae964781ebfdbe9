"""Numbers and addresses that lead to a person: phone, birth date, postcode, street, e-mail, handle.

Looked for by form. Forms are those of the countries' post and numbering plans as commonly written
(from memory); a bare number counts only where its form or a word beside it says what it is.
"""

import re
from collections.abc import Iterator

from pmulab.tables.naming import CAP

_BOX = (
    r"(?<![\w.+-])[\w.+-]++"  # possessive: a long word must not be tried from each of its letters
)
_AT = r"(?:@|\s@\s|\s?(?:\(at\)|\[at\])\s?)"
_EMAIL = re.compile(rf"{_BOX}(?:{_AT}[\w.-]+\.[a-z]{{2,}}|\sat\s[\w-]+\sdot\s[a-z]{{2,}})", re.I)
_HANDLE = re.compile(
    r"(?<![\w.])@[A-Za-z][\w.]{2,}|\b(?:instagram|insta|ig|facebook|fb|tiktok|snapchat)\s*:"
    r"|\b(?:instagram|insta|ig|facebook|fb|tiktok|snapchat)\s@?[a-z]\w*[._]\w+", re.I
)  # fmt: skip

_CODE = r"(?:[A-Z]{0,4}\d[\w/.-]*)"
_LOT = re.compile(
    r"\b(?:(?:lots?|batch(?:es)?|ref|charge|nr|no|serial|s/n|sku|ean|udi|articles?|art|items?"
    r"|models?|machines?|pigments?|needles?|cartridges?|order|bottles?)\b\.?[:#]?\s?){1,3}"
    rf"#?{_CODE}(?:[ ]{_CODE}){{0,4}}", re.I
)  # fmt: skip
"""What follows such a word is the number of a thing."""

_MONTH = (
    r"(?:jan|feb|fév|fev|mar|mär|abr|apr|avr|may|mai|mag|maj|jun|juin|giu|jul|juil|lug|aug|août|ago"
    r"|sep|set|oct|okt|ott|out|nov|dec|dez|déc|dic)[a-zéû]*\.?"
)
_BIRTH_YEAR = r"(?:19\d\d|200\d)"
_DAY = rf"\d{{1,2}}(?:\.|st|nd|rd|th|er)?\s(?:of |de )?{_MONTH}"
_ANY_DATE = (
    rf"(?:\d{{1,4}}\s?[./-]\s?\d{{1,2}}\s?[./-]\s?\d{{2,4}}|\d{{6}}(?:\d\d)?\b|{_DAY}"
    rf"|{_MONTH}\s\d{{1,4}}|(?:19|20)\d\d)"
)
_BIRTH = re.compile(
    r"\b(?:born|d\.?o\.?b|birth\s?-?(?:date|day)|date of birth|geb(?:oren)?|geburts(?:datum|tag)"
    r"|née?|naissance|nacid[oa]|nacimiento|f\.? ?nac|nat[oa]|nascita|nascid[oa]|nascimento|ur|fødd?"
    r"|född|rodzona|urodzona|geboortedatum)\b\W{0,4}(?:(?:is|was|on|in|am|im|le|el|il|en|em|the)\s)*"
    rf"\W{{0,3}}{_ANY_DATE}", re.I
)  # fmt: skip
_OLD_DATE = re.compile(
    rf"(?<![\d.])(?:\d{{1,2}}[./-]\d{{1,2}}[./-]{_BIRTH_YEAR}|{_BIRTH_YEAR}[./-]\d{{1,2}}[./-]\d{{1,2}}"
    rf"|{_DAY}\s(?:de )?{_BIRTH_YEAR}|{_MONTH}\s\d{{1,2}},?\s{_BIRTH_YEAR}"
    rf"|{_BIRTH_YEAR}(?:0[1-9]|1[0-2])(?:[0-2]\d|3[01])(?:-\d{{4}})?)(?!\d)", re.I
)  # fmt: skip

_PHONE_CUE = re.compile(
    r"\b(?:te?le?f?|telefon[oe]?|t[eé]l[eé]phone|tel[eé]fono|phone|ph|mobile?|mob|m[oó]vil|cell|handy"
    r"|cellulare|portable|tlf|whats\s?app|call|ring|rang|reach|text|txt|sms|number)\b\W{0,3}"
    r"(?:(?:her|him|me|us|back|again|on|at|is|under|from|no|nr)\b\W{0,3}){0,3}"
    r"\+?\(?\d(?:[ ()/.-]{0,2}\d){5,}", re.I
)  # fmt: skip
_PHONE = re.compile(
    r"(?<![\w.+-])(?:\+\d(?:[ ()/.-]{0,2}\d){7,14}"
    r"|00\d{2}(?:[ ()/.-]{0,2}\d){7,12}"
    r"|\(?0\d{2,5}\)?[ /-]{0,2}\d{2,5}(?:[ -]?\d{2,5}){1,3}"
    r"|0\d(?:[ .-]\d\d){4}"
    r"|\(?[2-9]\d{2}\)?[ .-]\d{3}[ .-]\d{4})(?![\w-])"
)

_UK_AREAS = (
    "AB AL B BA BB BD BH BL BN BR BS BT CA CB CF CH CM CO CR CT CV CW DA DD DE DG DH DL DN DT DY E "
    "EC EH EN EX FK FY G GL GU HA HD HG HP HR HS HU HX IG IP IV KA KT KW KY L LA LD LE LL LN LS LU "
    "M ME MK ML N NE NG NN NP NR NW OL OX PA PE PH PL PO PR RG RH RM S SA SE SG SK SL SM SN SO SP "
    "SR SS ST SW SY TA TD TF TN TQ TR TS TW UB W WA WC WD WF WN WR WS WV YO ZE"
).replace(" ", "|")
_STATES = (
    "A[KLRZ]|C[AOT]|D[CE]|FL|GA|HI|I[ADLN]|K[SY]|LA|M[ADEINOST]|N[CDEHJMVY]|O[HKR]|PA|RI|S[CD]"
    "|T[NX]|UT|V[AT]|W[AIVY]"
)
_TOWN = rf"(?!(?i:{_MONTH})\s)[A-ZÀ-ÞĀ-Ž][a-zß-ÿā-ž]{{2,}}"
_POSTCODE = re.compile(
    # Royal Mail: the second half has none of C I K M O V, so that no measure in mm or ml is one
    rf"\b(?i:(?:{_UK_AREAS})\d[A-Z\d]? \d[ABD-HJLNP-UW-Z]{{2}})\b"
    r"|\b[A-CEGHJ-NPR-TVXY]\d[A-Z] \d[A-Z]\d\b"
    r"|\b(?i:post\s?code|postal code|zip(?: code)?|plz|postleitzahl|code postal|c\.?p|c\.?a\.?p"
    r"|código postal|postn(?:umme)?r|postcode|cep|kod pocztowy)\b\W{0,3}(?:[A-Za-z]{1,2})?\d{2}"
    rf"|,\s(?:{_STATES})\s\d{{5}}\b"
    r"|\b(?:A|B|CH|D|DK|F|I|L|NL|PL|S|SE)-\d{4,5}\b"
    rf"|\b\d{{5}}\s{_TOWN}|\b\d{{2}}-\d{{3}}\s{_TOWN}|\b\d{{4}}-\d{{3}}\s{_TOWN}"
    r"|\b[1-9]\d{3} (?!HZ|RL|RS|ML|MG|MM|NM|MS|IU|RP)[A-Z]{2}\b"
)
_ADDRESS = re.compile(
    rf"\b\d{{1,4}}[a-z]?,? (?:{CAP} ){{1,3}}(?:Street|St|Road|Rd|Avenue|Ave|Lane|Drive|Close"
    r"|Court|Way|Square|Terrace|Crescent|Boulevard|Gardens|Grove|Hill)\b"
    r"|\b\d{1,4}\s?(?:bis|ter)?,? (?:rue|avenue|boulevard|allée|chemin|quai|impasse)\s\w"
    r"|\b(?:Via|Viale|Piazza|Calle|Avenida|Rua|ul\.|ulica|Plaza)"
    rf"\s(?:{CAP} ?){{1,3}},?\s?\d{{1,4}}\b"
    rf"|\b{CAP}(?:straße|strasse|str\.|gasse|weg|platz|allee|damm|straat|laan|plein|gracht|gatan"
    r"|vägen|vej|gade)\s\d{1,4}\b"
)


def without_lots(text: str) -> str:
    """Take the numbers of things out of a text.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    return _LOT.sub(" ", text)


def phones_in(text: str) -> Iterator[str]:
    """Find what seems to be a phone number in a text without the numbers of things."""
    for found in (*_PHONE_CUE.finditer(text), *_long_enough(text)):
        if not _is_date(found[0]):
            yield found[0]


def birth_dates_in(text: str) -> Iterator[str]:
    """Find what seems to be a birth date in a text without the numbers of things."""
    yield from _all_of(text, _BIRTH, _OLD_DATE)


def postcodes_in(text: str) -> Iterator[str]:
    """Find what seems to be a postcode in a text without the numbers of things."""
    yield from _all_of(text, _POSTCODE)


def addresses_in(text: str) -> Iterator[str]:
    """Find what seems to be a street and its number in a text."""
    yield from _all_of(text, _ADDRESS)


def emails_in(text: str) -> Iterator[str]:
    """Find what seems to be an e-mail address in a text."""
    yield from _all_of(text, _EMAIL)


def handles_in(text: str) -> Iterator[str]:
    """Find what seems to be a social handle in a text."""
    yield from _all_of(text, _HANDLE)


def _all_of(text: str, *forms: re.Pattern[str]) -> Iterator[str]:
    for form in forms:
        yield from (found[0] for found in form.finditer(text))


def _long_enough(text: str) -> Iterator[re.Match[str]]:
    for found in _PHONE.finditer(text):
        if 9 <= len(re.sub(r"\D", "", found[0])) <= 15:
            yield found


def _is_date(text: str) -> bool:
    return bool(re.search(r"(?:^|\s)\d{1,4}[./-]\d{1,2}[./-]\d{2,4}$", text.strip()))
