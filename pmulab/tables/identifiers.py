"""Text that tells who a person is: names, e-mail, phone, birth date, postcode, address.

One finder for every free text, column name and file name.  It looks for forms, not for people:
it misses some and sometimes points to an innocent word, so a name found alone is only
'look at this'.  The word lists are common given names and trade words, from memory.
"""

import re
from typing import Literal

from pmulab.tables.report import BLOCKS, LOOK, Fault

Kind = Literal[
    "e-mail address", "phone number", "birth date", "postcode", "street address",
    "social handle", "name",
]  # fmt: skip

_GIVEN_NAMES = frozenset(  # one word list is easier to keep than 250 quoted strings
    """
    aaliyah adam agnieszka ahmed aisha alan alba alejandra aleksandra alessia alexander alexandra
    ali alice alicia alina amelia amina amira ana anastasia andrea andrew angela angelika anita ann
    anna anne annette antonia anya aoife arthur astrid ayesha barbara beata beatrice beatriz
    bernadette bianca birgit brigitte camila camille carla carmen carol carolina caroline catarina
    catherine cecilia charles charlotte chiara chloe christina christine claire clara claudia
    cristina daniel daniela david deborah denise diana dorota dorothy eleanor elena eleonora
    elisabeth elise elizabeth ella ellen emilia emily emma erika esther eva eve evelyn ewa fatima
    federica fiona florence frances francesca franziska gabriela georgia gemma giovanna giulia
    greta hannah heather heidi helen helena henrietta ibrahim ines ingrid irena irina isabel
    isabella ivana jacqueline jana jane janet janina jasmin jennifer jessica joanna johanna john
    joseph josephine judith julia juliana julie justyna karen karin katarzyna kate katharina
    katherine kathleen katja kerstin kimberly kinga kirsten klara kristina laila lara laura layla
    leila lena leonie leticia linda lisa louise lucia lucy luisa lydia madeleine magdalena maja
    malgorzata manuela margaret margarita maria mariam marianne marie marina marta martha martina
    mary maryam matilda melanie mercedes mia michael michelle miriam mohamed mohammed monica monika
    muhammad nadia nadine nancy naomi natalia natalie natasha nicola nicole nina noor nora nour
    olga olivia patricia paul paula pauline peter petra pilar priya rachel rebecca regina renata
    rita robert roberta rosa rosalie sabine samantha samira sandra sara sarah selma sharon sheila
    silvia simone sofia sonia sophia sophie stefania stephanie susan susanna susanne svetlana
    sylvia tamara tanja tatiana teresa theresa thomas ulrike ursula valentina valeria vanessa vera
    veronica victoria virginia viktoria wendy wiktoria yasmin yolanda yvonne zainab zofia zoe
    zuzanna
    """.split()  # noqa: SIM905
)
_CAP = r"[A-ZÀ-ÖØ-ÞĀ-Ž][a-zß-öø-ÿā-ž'’]+(?:-[A-ZÀ-Þ][a-zß-ÿ]+)?"
_EMAIL = re.compile(r"[\w.+-]+(?:@|\s?(?:\(at\)|\[at\])\s?)[\w-]+\.[a-z]{2,}", re.I)
_HANDLE = re.compile(
    r"(?<![\w.])@[A-Za-z][\w.]{2,}|\b(?:instagram|insta|facebook|tiktok)\s*:", re.I
)
_BIRTH_CUE = re.compile(
    r"\b(?:born|d\.?o\.?b\.?|birth\s?-?(?:date|day)|date of birth|geb(?:oren|\.))\W{0,6}"
    r"(?:on |in |is )?\W{0,3}\d", re.I
)  # fmt: skip
_FULL_DATE = re.compile(
    r"(?<![\d.])(?:\d{1,2}[./-]\d{1,2}[./-](19\d\d|200\d)|(19\d\d|200\d)[./-]\d{1,2}[./-]\d{1,2})"
    r"(?!\d)"
)
_PHONE_CUE = re.compile(
    r"\b(?:tel|phone|mobile|mob|cell|whats\s?app|call(?: her)?(?: on| at)?|ring|text her(?: on)?)\b"
    r"\W{0,3}\+?\d(?:[ ()/.-]?\d){5,}", re.I
)  # fmt: skip
_PHONE = re.compile(
    r"(?<![\w.+-])(?:\+\d(?:[ ()/.-]{0,2}\d){7,14}"
    r"|00\d{2}(?:[ ()/.-]{0,2}\d){7,12}"
    r"|\(?0\d{2,5}\)?[ /-]{0,2}\d{2,5}(?:[ -]?\d{2,5}){1,3}"
    r"|\(?[2-9]\d{2}\)?[ .-]\d{3}[ .-]\d{4})(?![\w-])"
)
_LOT = re.compile(r"\b(?:lot|batch|ref|charge|no|nr)\b\.?:?\s*#?[\w /-]*\d[\w/-]*", re.I)
_POSTCODE = re.compile(
    r"\b(?:[A-Z]{1,2}\d[A-Z\d]? \d[A-Z]{2}|[A-CEGHJ-NPR-TVXY]\d[A-Z] \d[A-Z]\d)\b"
    r"|\b(?i:post\s?code|postal code|zip(?: code)?|plz)\b\W{0,3}[A-Za-z]{0,2}\d"
    r"|,\s(?:A[KLRZ]|C[AOT]|DE|FL|GA|HI|I[ADLN]|K[SY]|LA|M[ADEINOST]|N[CDEHJMVY]|O[HKR]|PA|RI"
    r"|S[CD]|T[NX]|UT|V[AT]|W[AIVY])\s\d{5}\b"
)
_ADDRESS = re.compile(
    rf"\b\d{{1,4}}[a-z]?,? (?:{_CAP} ){{1,3}}(?:Street|St|Road|Rd|Avenue|Ave|Lane|Drive|Close"
    rf"|Court|Way|Square|Terrace|Crescent|Boulevard)\b"
    rf"|\b(?:{_CAP}(?:straße|strasse|gasse|weg|platz))\s\d{{1,4}}\b"
)
_TITLE_NAME = re.compile(rf"\b(?:Mrs|Ms|Mr|Miss|Mme|Frau|Herr|Se[nñ]ora)\b\.?\s{_CAP}")
_DOCTOR_NAME = re.compile(rf"\bDr\b\.?\s(?!Advised|Asked|Said)(?:{_CAP})")
_CUED_NAME = re.compile(
    rf"\b(?i:name is|named|client name|real name|is called|her name|surname|initials)\b\W{{0,3}}"
    rf"(?:{_CAP}|[A-Z]\.? ?[A-Z]\b)"
)
_WORD = re.compile(_CAP)
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
    without_lots = _LOT.sub(" ", text)
    found: dict[Kind, bool] = {
        "e-mail address": bool(_EMAIL.search(text)),
        "phone number": not lot_number and _has_phone(without_lots),
        "birth date": bool(_BIRTH_CUE.search(text) or _FULL_DATE.search(without_lots)),
        "postcode": not lot_number and bool(_POSTCODE.search(without_lots)),
        "street address": bool(_ADDRESS.search(text)),
        "social handle": not _EMAIL.search(text) and bool(_HANDLE.search(text)),
        "name": _has_name(text),
    }
    return [kind for kind, there in found.items() if there]


def _has_phone(text: str) -> bool:
    if _PHONE_CUE.search(text):
        return True
    return any(
        9 <= len(re.sub(r"\D", "", found[0])) <= 15 and not _is_date(found[0])
        for found in _PHONE.finditer(text)
    )


def _is_date(text: str) -> bool:
    return bool(re.fullmatch(r"\d{1,4}[./-]\d{1,2}[./-]\d{2,4}", text.strip()))


def _has_name(text: str) -> bool:
    if any(form.search(text) for form in (_TITLE_NAME, _DOCTOR_NAME, _CUED_NAME)):
        return True
    parts = (part for word in _WORD.findall(text) for part in re.split(r"[-'’]", word))
    return any(part.casefold() in _GIVEN_NAMES for part in parts)


def identifier_fault(kind: Kind, column: str, text: str) -> Fault:
    """Make the fault of one find.

    Parameters
    ----------
    kind : str
        As `find_identifiers` names it.
    column, text : str

    Returns
    -------
    Fault
        Blocks the analysis, except for a name, which may be an innocent word.
    """
    article = "an" if kind[0] in "aeiou" else "a"
    return Fault(
        "identifying_text",
        f"'{text}' in the column '{column}' looks like {article} {kind}.",
        "Take it out; a client is known by her code only, such as C042.",
        LOOK if kind == "name" else BLOCKS,
    )
