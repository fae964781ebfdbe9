"""An answer file is foreign: whatever is no answer to this round is refused with a word."""

import copy
import json
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scored import answers, prepared

from pmulab.errors import UserError
from pmulab.scoring import merge_check, read_answer_file


@pytest.fixture(scope="module")
def one_round(tmp_path_factory):
    return prepared(tmp_path_factory.mktemp("round") / "study")


@pytest.fixture
def good(one_round):
    study, one, _ = one_round
    return answers(study, one)


@pytest.fixture
def read(one_round):
    study, one, _ = one_round
    expected = one.expected(study)

    def reading(content):
        data = content if isinstance(content, bytes) else json.dumps(content).encode()
        return read_answer_file(data, expected, "from-R1.json")

    return reading


def test_good_answers_are_read(read, good):
    sheet = read(good)

    assert (sheet.assessor, sheet.operator, sheet.open) == ("R1", False, 0)
    some = next(iter(good["photos"]))
    kept = len(good["photos"][some]["segments_kept"])
    assert sheet.photos[some]["segments_kept"] == str(kept)


def test_a_mark_at_the_head_of_the_file_does_no_harm(read, good):
    assert read(b"\xef\xbb\xbf" + json.dumps(good).encode()).open == 0


def test_open_answers_are_counted(read, good):
    codes = list(good["photos"])
    del good["photos"][codes[0]]
    del good["photos"][codes[1]]["migration"]
    del good["guesses"][codes[2]]
    good["pairs"] = {}

    assert read(good).open == 3 + 6


def test_a_photo_that_cannot_be_judged_is_answered(read, good):
    code = next(iter(good["photos"]))
    good["photos"][code] = {"photo_quality": "blurred"}

    sheet = read(good)
    assert sheet.open == 0
    assert sheet.photos[code] == {"photo_quality": "blurred"}


def changed(good, *path, value):
    content = copy.deepcopy(good)
    at = content
    for step in path[:-1]:
        at = at[next(iter(at))] if step is None else at[step]
    at[next(iter(at)) if path[-1] is None else path[-1]] = value
    return content


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (("round",), "0" * 16, "another round"),
        (("round",), None, "another round"),
        (("format",), 2, "later release"),
        (("format",), 0, "lacks an entry"),
        (("format",), True, "lacks an entry"),
        (("kind",), "something", "no file of answers"),
        (("assessor",), "Anna", "no assessor code"),
        (("assessor",), "../R1", "no assessor code"),
        (("assessor",), "R1\n", "no assessor code"),
        (("assessor",), 7, "no assessor code"),
        (("assessor",), "<script>alert(1)</script>", "no assessor code"),
        (("operator",), "no", "did the work"),
        (("name",), "Anna", "does not belong"),
        (("photos",), [], "holds no answers"),
        (("photos", "P1"), {}, "no picture 'P1'"),
        (("pairs", "D1"), "left", "no picture 'D1'"),
        (("guesses", "P1"), "A", "no picture 'P1'"),
        (("photos", None), "ok", "not asked"),
        (("photos", None, "note"), "hello", "not asked"),
        (("photos", None, "retention_grade"), 3, "no answer"),
        (("photos", None, "retention_grade"), "5", "no answer"),
        (("photos", None, "retention_grade"), "=1+1", "no answer"),
        (("photos", None, "migration"), "<img src=x>", "no answer"),
        (("photos", None, "segments_kept"), 7, "no answer"),
        (("photos", None, "segments_kept"), [0], "no answer"),
        (("photos", None, "segments_kept"), [1, 1], "no answer"),
        (("photos", None, "segments_kept"), [True], "no answer"),
        (("photos", None, "segments_kept"), [[1]], "no answer"),
        (("photos", None, "segments_kept"), [1.0], "no answer"),
        (("photos", None), {"photo_quality": "ok"}, "no answer"),
        (("pairs", None), "up", "no answer"),
        (("pairs", None), None, "no answer"),
        (("guesses", None), "damp", "no answer"),
    ],
)
def test_what_is_no_answer_is_refused(read, good, path, value, told):
    with pytest.raises(UserError, match=told):
        read(changed(good, *path, value=value))


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "cannot be read"),
        (b"\xff\xfe\x00", "cannot be read"),
        (b"[1, 2]", "no file of answers"),
        (b"[" * 200_000, "cannot be read"),
        (b'{"kind": NaN}', "cannot be read"),
        (b'{"kind": "pmulab scores", "kind": "pmulab scores"}', "two entries 'kind'"),
        (b" " * 2_000_001, "MB"),
        (b"PK\x03\x04", "cannot be read"),
    ],
)
def test_what_is_no_file_of_answers_is_refused(read, data, told):
    with pytest.raises(UserError, match=told):
        read(data)


def test_a_photo_that_is_answered_twice_is_refused(read, good):
    code = next(iter(good["photos"]))
    text = json.dumps(good).replace(f'"{code}": {{', f'"{code}": {{}}, "{code}": {{', 1)
    with pytest.raises(UserError, match="two entries"):
        read(text.encode())


def test_two_files_of_one_assessor_are_refused(read, good):
    sheet = read(good)
    with pytest.raises(UserError, match="both of the assessor R1"):
        merge_check([("a.json", sheet), ("b.json", sheet)])


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)
ENTRY = st.sampled_from(["round", "assessor", "operator", "photos", "pairs", "guesses", "format"])


@settings(max_examples=150)
@given(entry=ENTRY, value=JSON)
def test_whatever_stands_in_an_entry_is_an_answer_or_refused(one_round, entry, value):
    study, one, _ = one_round
    data = json.dumps(answers(study, one) | {entry: value}).encode()
    with suppress(UserError):
        assert read_answer_file(data, one.expected(study), "x.json").open >= 0
