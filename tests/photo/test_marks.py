"""A file of marks is foreign input."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmulab.errors import UserError
from pmulab.photo.marks import Line, Marks, Scale, marks_from_dict, marks_from_json

SHA = "a" * 64
WHOLE = Marks(
    4000,
    3000,
    SHA,
    grey=((100.0, 100.0), (900.0, 100.0), (900.0, 200.0), (100.0, 200.0)),
    scale=Scale((100.0, 300.0), (900.0, 300.5), 40.0),
    line=Line(((200.0, 800.0), (500.0, 900.0), (800.0, 800.0)), 1.2),
)


def test_marks_come_back_from_their_file():
    assert marks_from_json(WHOLE.to_json(), "x.marks.json") == WHOLE
    assert marks_from_json(Marks(10, 10, SHA).to_json(), "x") == Marks(10, 10, SHA)


places = st.tuples(st.floats(0, 4000), st.floats(0, 3000))


@given(st.lists(places, min_size=2, max_size=30, unique=True), st.floats(0.2, 6))
def test_any_marks_come_back_or_are_refused(points, width):
    marks = Marks(4000, 3000, SHA, line=Line(tuple(points), width))
    if marks.faults():
        with pytest.raises(UserError):
            marks_from_json(marks.to_json(), "x")
    else:
        assert marks_from_json(marks.to_json(), "x") == marks


def changed(**parts):
    data = json.loads(WHOLE.to_json())
    for place, value in parts.items():
        part, _, name = place.partition("__")
        if name:
            data[part][name] = value
        else:
            data[part] = value
    return data


@pytest.mark.parametrize(
    "data",
    [
        changed(format=2), changed(width=0), changed(width="4000; rm"), changed(photo="../x"),
        changed(style="other"), changed(extra=1), changed(grey=[[1, 1], [2, 2]]),
        changed(grey=[[1, 1], [2, 2], [3, 3]]), changed(grey=[[-5, 1], [2, 900], [30, 3]]),
        changed(scale__mm=0), changed(scale__mm=float("nan")), changed(scale__mm=1e9),
        changed(scale__end=[100, 300]), changed(line__points=[[1, 1]]),
        changed(line__points=[[1, 1], [1, 1]]), changed(line__points=[[1, 1], [9e9, 1]]),
        changed(line__points=[[1, 1], [3999, 3001]]), changed(line__width_mm=-1),
        changed(line__skin="left"), changed(line__points=[[i, i * 2] for i in range(300)]),
        changed(grey_lightness=100), [], "marks", None, 3, {},
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_the_file_named(data):
    with pytest.raises(UserError) as told:
        marks_from_dict(data, "P0517.marks.json")

    assert "P0517.marks.json" in told.value.what
    assert told.value.remedy


@pytest.mark.parametrize(
    "text", ["", "{", "[" * 5000, '{"width": NaN}', "x" * 200_000, '{"width": 1e999}', "\x00"]
)
def test_what_is_no_file_of_marks_is_refused(text):
    with pytest.raises(UserError, match="cannot be used"):
        marks_from_json(text, "x")
