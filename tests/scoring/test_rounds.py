"""What is drawn, what is sealed, and what the order of a page cannot tell."""

import base64
import json
from collections import Counter
from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pmulab.errors import UserError
from pmulab.scoring import Photo, draw_round, open_key, seal_key

SEEDS = st.integers(min_value=0, max_value=2**128 - 1)
SECRET = "a" * 64


def photos(clients):
    return [
        Photo(f"C{100 + n}_{side}_1.jpg", f"C{100 + n}", side, 1, "2026-02-20")
        for n in range(clients)
        for side in ("L", "R")
    ]  # fmt: skip


@settings(max_examples=40)
@given(seed=SEEDS, clients=st.integers(1, 15), repeats=st.floats(0, 1))
def test_every_photo_comes_once_and_its_share_of_them_twice(seed, clients, repeats):
    key = draw_round(photos(clients), 1, seed, repeats=repeats)
    looks = Counter((one.photo, one.look) for one in key.showings)
    first = [photo for photo, look in looks if look == 1]

    assert sorted(first) == sorted(one.key for one in photos(clients))
    assert max(looks.values()) == 1
    assert len(looks) - len(first) == ceil(2 * clients * repeats - 1e-9)


@settings(max_examples=40)
@given(seed=SEEDS)
def test_a_second_look_comes_later_and_not_at_once(seed):
    key = draw_round(photos(10), 1, seed)
    for place, one in enumerate(key.showings):
        if one.look == 2:
            before = [n for n, other in enumerate(key.showings[:place]) if other.photo == one.photo]
            assert [key.showings[n].look for n in before] == [1]
            assert place - before[0] >= 5


@settings(max_examples=40)
@given(seed=SEEDS)
def test_codes_are_digits_that_occur_once(seed):
    key = draw_round(photos(12), 1, seed)
    codes = [one.code for one in (*key.showings, *key.pairs)]

    assert len(set(codes)) == len(codes)
    assert all(code[0] in "PD" and code[1:].isdigit() for code in codes)


def test_the_same_seed_gives_the_same_round():
    assert draw_round(photos(6), 1, 7) == draw_round(photos(6)[::-1], 1, 7)
    assert draw_round(photos(6), 1, 7) != draw_round(photos(6), 1, 8)


def test_no_place_of_the_order_is_likelier_to_be_a_repeat():
    """Were repeats put in late, the last places would tell them. 1,500 draws of 12 photos and 3
    repeats: 15 places, each in a repeated couple 1500 * 6 / 15 = 600 times; the chi-square
    limit for 14 df at 0.1 % is 36.12 (Fisher & Yates, Statistical Tables). Distances are kept,
    which favours the two ends a little; so the limit is taken twice."""
    seen = Counter()
    for seed in range(1500):
        key = draw_round(photos(6), 1, seed)
        twice = {one.photo for one in key.showings if one.look == 2}
        seen.update(n for n, one in enumerate(key.showings) if one.photo in twice)

    assert len(seen) == 15
    assert sum((seen[place] - 600) ** 2 / 600 for place in range(15)) < 2 * 36.12


def test_no_place_of_the_order_is_likelier_to_be_a_left_eyelid():
    """By symmetry: 1,000 draws of 10 photos without repeats; limit for 10 places at 0.1 %, each a
    coin: 29.59 (chi-square, 10 df, Fisher & Yates)."""
    left = Counter()
    on_left = Counter()
    for seed in range(1000):
        key = draw_round(photos(5), 1, seed, repeats=0)
        left.update(n for n, one in enumerate(key.showings) if one.side == "L")
        on_left.update(pair.on_left for pair in key.pairs)

    assert sum((left[place] - 500) ** 2 / 250 for place in range(10)) < 29.59
    assert abs(on_left["L"] - 2500) < 4 * (5000 / 4) ** 0.5


def test_pictures_of_one_photo_never_have_the_same_size():
    for seed in range(50):
        key = draw_round(photos(8), 1, seed, repeats=1)
        sizes = Counter((one.photo, one.longest) for one in key.showings)
        assert max(sizes.values()) == 1


def test_left_eyelids_alone_are_mirrored():
    key = draw_round(photos(3), 1, 3)

    assert all(one.mirrored == (one.side == "L") for one in key.showings)
    assert all(
        mirrored == (side == "L")
        for pair in key.pairs
        for side, mirrored in zip(pair.sides, pair.mirrored, strict=True)
    )
    plain = draw_round(photos(3), 1, 3, mirror=False)
    assert not any(one.mirrored for one in plain.showings)


def test_side_by_side_needs_both_eyelids_of_one_visit():
    some = [*photos(2)[:3], Photo("x", "C101", "R", 2)]
    key = draw_round(some, 1, 5)

    assert [(pair.client_code, pair.visit_no) for pair in key.pairs] == [("C100", 1)]
    assert draw_round(some, 1, 5, side_by_side=False).pairs == ()


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_share_that_cannot_be_is_refused(share):
    with pytest.raises(UserError, match="cannot be"):
        draw_round(photos(2), 1, 1, repeats=share)


def test_a_round_without_photos_is_refused():
    with pytest.raises(UserError, match="no photo"):
        draw_round([], 1, 1)


@settings(max_examples=25)
@given(seed=SEEDS)
def test_a_sealed_key_comes_back_with_its_secret_alone(seed):
    key = draw_round(photos(4), 2, seed)
    text = seal_key(key, SECRET)

    assert open_key(text, SECRET) == key
    with pytest.raises(UserError, match=r"changed or damaged|fingerprint"):
        open_key(text, "b" * 64)


def test_a_sealed_key_shows_nothing():
    key = draw_round(photos(6), 1, 11)
    text = seal_key(key, SECRET)
    inside = base64.b64decode(json.loads(text)["sealed"])

    for one in (*key.showings, *key.pairs):
        for word in (one.code, one.client_code):
            assert word not in text
            assert word.encode() not in inside
    assert b"mirrored" not in inside


@pytest.mark.parametrize("entry", ["sealed", "fingerprint"])
def test_a_changed_key_is_refused(entry):
    content = json.loads(seal_key(draw_round(photos(4), 1, 1), SECRET))
    content[entry] = ("A" if content[entry][0] != "A" else "B") + content[entry][1:]
    with pytest.raises(UserError, match=r"changed or damaged|fingerprint"):
        open_key(json.dumps(content), SECRET)


@pytest.mark.parametrize("text", ["", "[]", "null", '{"sealed": 3}', "[" * 100_000])
def test_what_is_no_key_is_refused(text):
    with pytest.raises(UserError):
        open_key(text, SECRET)
