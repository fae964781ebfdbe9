"""The forms of notebook 04."""

from datetime import UTC, datetime

import pytest

import pmulab
from pmulab import panels
from pmulab.demo.lid import truth_of
from pmulab.demo.photographs import drawn_photos
from pmulab.stations.photos import has_marks, photo_codes
from pmulab.study import Study

UNMARKED = next(photo for photo in drawn_photos() if photo.marks is None)
MARKED = next(photo for photo in drawn_photos() if photo.code == "healed-C417-L")


def again(line):
    """Run a shown line as a notebook would."""
    return eval(line, {name: getattr(pmulab, name) for name in dir(pmulab)})


def points_of(photo):
    from pmulab.demo.lid import places, reference_marks

    grey, scale = reference_marks(photo.lid)
    line = places(photo.lid, [photo.lid.length * part / 8 for part in range(9)])
    parts = {"grey": grey, "scale": scale, "line": line}
    return {name: part.round(1).tolist() for name, part in parts.items()}


def test_the_first_photo_without_marks_is_shown_with_words_for_it(shown_demo):
    form = panels.MarkPhoto(shown_demo)

    assert form.inputs["code"].value == UNMARKED.code
    assert (form.marking.width, form.marking.height) == UNMARKED.lid.size
    assert UNMARKED.code in form.marking.alt
    assert form.marking.photo[:2] == b"\xff\xd8"
    assert form.marking.marks == {"grey": [], "scale": [], "line": []}


def test_marking_saves_beside_the_photo_measures_and_shows_the_line(shown_demo):
    form = panels.MarkPhoto(shown_demo)
    form.marking.marks = points_of(UNMARKED)
    form.inputs["width_mm"].value = "1,2"
    line = str(form.call())
    form.press()

    assert has_marks(Study(shown_demo), UNMARKED.code)
    truth = truth_of(UNMARKED.lid)
    found = pmulab.look_at_photo(shown_demo, UNMARKED.code).value.reading.measured
    assert found.kept.value == pytest.approx(truth.kept, abs=3)
    assert f"kept {found.kept}" in form.said.value
    assert 'role="img"' in form.details.value
    assert again(line).value.line.width_mm == 1.2


def test_the_curve_that_is_drawn_follows_the_points(shown_demo):
    form = panels.MarkPhoto(shown_demo)
    points = points_of(UNMARKED)
    form.marking.marks = {"line": points["line"]}
    assert len(form.marking.outline) == 1
    form.marking.marks = points
    assert len(form.marking.outline) == 3
    form.inputs["width_mm"].value = "wide"
    assert form.marking.outline == []


def test_half_a_marking_is_saved_and_what_lacks_is_said(shown_demo):
    form = panels.MarkPhoto(shown_demo)
    form.marking.marks = {"grey": points_of(UNMARKED)["grey"], "scale": [], "line": []}
    form.press()

    assert "the millimetre scale" in form.said.value
    assert "nothing to measure by" in form.said.value


def test_points_that_are_not_saved_outlive_another_photo_and_another_form(shown_demo):
    chosen = panels.ChooseStudy(shown_demo)
    form = panels.MarkPhoto(chosen)
    half = {"grey": [[1.0, 2.0]], "scale": [], "line": []}
    form.marking.marks = half
    form.inputs["code"].value = MARKED.code
    assert len(form.marking.marks["line"]) == 9
    chosen.moved_on()
    form.inputs["code"].value = UNMARKED.code

    assert form.marking.marks == half


def test_saved_marks_come_back_with_their_measures(shown_demo):
    form = panels.MarkPhoto(shown_demo)
    form.inputs["code"].value = MARKED.code

    assert form.marking.marks["scale"] == [MARKED.marks["scale"][end] for end in ("start", "end")]
    assert form.inputs["scale_mm"].value == "40"
    assert form.inputs["width_mm"].value == "1.2"


def test_a_photo_that_is_chosen_is_taken_in_without_its_name(shown_demo):
    form = panels.TakePhoto(shown_demo)
    form.inputs["code"].value = "P77"
    chosen = {"name": "Somebody.jpg", "type": "", "size": 1, "content": memoryview(MARKED.jpeg)}
    form._upload.value = (chosen | {"last_modified": datetime.now(UTC)},)

    assert "P77" in photo_codes(Study(shown_demo))
    assert "Somebody" not in form.line.value + form.said.value
    assert form._upload.value == ()


def test_a_named_file_is_taken_in_by_the_shown_line(shown_demo, here):
    (here / "one.jpg").write_bytes(MARKED.jpeg)
    form = panels.TakePhoto(shown_demo)
    form.inputs["file"].value = "one.jpg"
    form.inputs["code"].value = "P78"
    again(str(form.call()))

    assert "P78" in photo_codes(Study(shown_demo))


def test_measuring_shows_every_photo_and_why_one_is_refused(shown_demo):
    form = panels.MeasurePhotos(shown_demo)
    form.press()

    assert "two kinds of light are mixed" in form.said.value
    assert form.details.value.count("<figure") == 4
    assert form.line.value.count("measure(study=") == 1
    assert "Photos: 6. Marked: 5." in str([part.value for part in form._fields.children])


def test_without_photos_the_forms_say_what_comes_first(locked):
    form = panels.MarkPhoto(locked)

    assert "take one in" in form._fields.children[0].value
    assert form._button.layout.display == "none"


def test_points_that_are_still_on_their_way_are_saved(shown_demo):
    """A press of the button comes before changes that wait until Python is done with others."""
    form = panels.MarkPhoto(shown_demo)
    form.marking._handle_custom_msg({"marks": points_of(UNMARKED)}, [])

    assert form.marking.marks == {"grey": [], "scale": [], "line": []}
    assert form._marks()["line"]["points"] == points_of(UNMARKED)["line"]
    form.marking._handle_custom_msg({"marks": "none of ours"}, [])
    form.marking._handle_custom_msg("nor this", [])
    assert form.marking.points == points_of(UNMARKED)
