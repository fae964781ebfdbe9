"""The finder of identifying text, on ordinary notes and on notes that tell too much.

The notes are invented; telephone numbers are of ranges set aside for fiction (Ofcom 020 7946 0xxx,
North American 555-01xx); example.org is reserved by RFC 2606.
"""

import pytest

from pmulab.tables import find_identifiers
from pmulab.tables.identifiers import identifying_words

TELLING = {
    "mail me at someone@example.org": "e-mail address",
    "some.one (at) example.org": "e-mail address",
    "phone 020 7946 0123": "phone number",
    "call her on 555 0142": "phone number",
    "+44 20 7946 0321 after six": "phone number",
    "(212) 555-0187": "phone number",
    "00442079460321": "phone number",
    "born 4.5.1979": "birth date",
    "DOB: 04/05/79": "birth date",
    "date of birth 4 May 1979": "birth date",
    "1979-05-04, sensitive": "birth date",
    "12/11/1988": "birth date",
    "lives in SW1A 1AA": "postcode",
    "K1A 0B1": "postcode",
    "zip 90210": "postcode",
    "Springfield, IL 62704": "postcode",
    "12 Long Lane": "street address",
    "Gartenstraße 12": "street address",
    "see @inked.lashes": "social handle",
    "instagram: lashline": "social handle",
    "Mrs Example was tense": "name",
    "Frau Muster, second visit": "name",
    "her name is Zuri": "name",
    "Anna asked for a thinner line": "name",
    "with Katarzyna Nowak's daughter": "name",
    "initials A.K.": "name",
    "Dr Sample cleared her": "name",
    "Anna-Maria": "name",
}
ORDINARY = [
    "",
    "left lid swollen, cooled 10 min",
    "Left Lid: two gaps, Right Lid fine",
    "2026-03-01 pigment changed, see 2026-03-08",
    "photo taken 01.03.2026 at 14:30",
    "LOT 20260301-0442",
    "batch 0441234567890",
    "needle 0.30 mm, 3 round, 90 Hz, depth 0.8",
    "work 14.5 min, elapsed 18.5 min, wipes 22",
    "client moved twice, paused 2 x 3 min",
    "Iris reflected the lamp; Mark the inner corner first next time",
    "Doctor advised to wait, GP informed",
    "Dr advised to wait",
    "eye opening 9.5 to 8.5 mm",
    "NA_not_done",
    "P0421_L",
    "May need a touch-up in April or June",
    "Saline rinse, Iron oxide, Damp nonwoven",
    "grade 3-4, pain 5/10",
    "1 2 3 4 5 6 7 8 9 10",
    "said she would come back on Monday",
    "C042 and C043 swapped their slots",
]


@pytest.mark.parametrize(("text", "kind"), TELLING.items())
def test_telling_text_is_found(text, kind):
    assert kind in find_identifiers(text)


@pytest.mark.parametrize("text", ORDINARY)
def test_ordinary_notes_are_left_alone(text):
    assert find_identifiers(text) == []


@pytest.mark.parametrize("header", ["Phone", "E-mail", "client name", "DOB", "Post code 2", "City"])
def test_telling_column_names_are_found(header):
    assert find_identifiers(header.replace("Post code", "postcode"), header=True)


@pytest.mark.parametrize("header", ["work_min", "photo_code", "weather", "filename_ok", "telling"])
def test_ordinary_column_names_are_left_alone(header):
    assert find_identifiers(header, header=True) == []


@pytest.mark.parametrize("lot", ["0207946 0123 44", "AB12 3CD", "LOT 4711", "20260301/17"])
def test_lot_numbers_may_look_like_phones_and_postcodes(lot):
    assert find_identifiers(lot, lot_number=True) == []


def test_the_words_that_were_taken_for_telling_are_given():
    """People and numbers are invented."""
    found = identifying_words("Mrs  Quennell rang; call 030 5550147, orla@example.org. Lot 030555")

    assert found == {
        "e-mail address": ("orla@example.org",),
        "phone number": ("030 5550147",),
        "name": ("Quennell", "orla"),
    }
    assert identifying_words("A damp wipe, lot 0305550147") == {}
