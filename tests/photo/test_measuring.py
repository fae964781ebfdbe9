"""Drawn lids of known truth: measured within what is promised, or refused and said.

The long form is tests/bench/photos.py, with its table in photos.md.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from photo.synthetic import allowed, any_lid, contrast_of, errors, marks_of
from PIL import Image

from pmulab.demo.lid import DrawnLid, places, truth_of
from pmulab.demo.lid_photo import draw
from pmulab.photo.colour import skin_class, typology_angle
from pmulab.photo.curve import outline, planned_curve
from pmulab.photo.marks import Line
from pmulab.photo.measuring import measure

PLAIN = DrawnLid(
    gaps=((4.0, 6.5), (15.0, 16.2)), spread=(18.0, 24.0, 0.6), pixels_per_mm=24.0, length=26.0
)


@cache
def drawn(lid):
    return draw(lid)


def seen(lid=PLAIN, marks=None, pixels=None):
    return measure(drawn(lid) if pixels is None else pixels, marks or marks_of(lid))


@pytest.mark.parametrize("seed", range(6))
def test_a_drawn_lid_is_measured_within_what_is_promised(seed):
    """One of each skin class, any light and camera, points put by an unsteady hand."""
    lid = any_lid(seed, pixels_per_mm=24.0)
    found = seen(lid, marks_of(lid, np.random.default_rng(seed)))

    assert found.refusals == ()
    # 95 of 100 are promised; these six may stray half as far again
    for name, error in errors(lid, found.measured).items():
        assert abs(error) <= 1.5 * allowed(lid)[name], name
    angle = found.measured.skin_angle
    assert abs(angle.value - typology_angle(lid.skin)) <= max(5, angle.plus_minus)
    assert found.measured.skin == skin_class(angle.value)


def test_an_exact_hand_and_a_good_camera_leave_almost_no_error():
    """Shape only: the colour of the light is no part of it."""
    lid = replace(PLAIN, noise=0.0, quality=100, cast=0.0, lashes=0, blur=0.02)
    found, truth = seen(lid).measured, truth_of(lid)

    assert found.kept.value == pytest.approx(truth.kept, abs=0.6)
    assert found.width.value == pytest.approx(truth.width, abs=0.015)
    assert found.spread.value == pytest.approx(truth.spread, abs=0.03)
    assert found.contrast.value == pytest.approx(contrast_of(lid), abs=0.5)
    assert found.length_mm == pytest.approx(lid.length, abs=0.1)


def test_what_was_planned_and_is_gone_counts_as_lost():
    gone = seen(replace(PLAIN, gaps=((-1.0, 40.0),), spread=None)).measured

    assert gone.kept.value == pytest.approx(0, abs=2)  # a stray lash or two
    assert gone.segments_kept == 0
    assert gone.width is None
    assert gone.contrast is None
    assert "No pigment" in gone.note


def test_ten_parts_are_counted_as_an_assessor_counts_them():
    """Gaps over the whole of parts 1 and 10 and a third of part 5: eight parts are kept."""
    part = PLAIN.length / 10
    gaps = ((-1.0, part), (4.0 * part, 4.33 * part), (9.0 * part, 27.0))
    found = seen(replace(PLAIN, gaps=gaps, spread=None)).measured

    assert found.segments_kept == 8
    assert len(found.segment_contrasts) == 10
    assert found.segment_contrasts[4] > 20 > 5 > found.segment_contrasts[0]


def test_lashes_are_no_pigment():
    """A lid without any line, under many lashes."""
    lid = replace(PLAIN, gaps=((-1.0, 40.0),), spread=None, lashes=130, seed=8)

    assert seen(lid).measured.kept.value < 3


def codes(found):
    assert found.measured is None
    assert all(one.what and one.remedy for one in found.refusals)
    return {one.code for one in found.refusals}


def test_without_a_reference_there_is_no_reading():
    whole = marks_of(PLAIN)

    for lacking in (replace(whole, grey=()), replace(whole, scale=None),
                    replace(whole, grey=(), scale=None)):  # fmt: skip
        assert codes(seen(marks=lacking)) == {"no_grey_or_scale"}


@pytest.mark.parametrize(
    "elsewhere",
    [((100.0, 700.0), (500.0, 700.0)), ((300.0, 60.0), (900.0, 60.0))],
    ids=["on skin", "on the grey bar"],
)
def test_a_scale_that_is_no_scale_is_no_reference(elsewhere):
    whole = marks_of(PLAIN)
    start, end = elsewhere

    wrong = replace(whole, scale=replace(whole.scale, start=start, end=end))
    assert "no_grey_or_scale" in codes(seen(marks=wrong))


def test_a_miscounted_scale_is_noticed():
    whole = marks_of(PLAIN)

    wrong = replace(whole, scale=replace(whole.scale, mm=35.0))
    found = seen(marks=wrong)
    assert "no_grey_or_scale" in codes(found)
    assert any("40.0 mm apart" in one.what for one in found.refusals)


def test_a_patch_that_is_no_patch_is_no_reference():
    whole = marks_of(PLAIN)
    x, y = (np.array(part) for part in zip(*whole.grey, strict=True))
    lower = tuple(zip((float(v) for v in x), (float(v + 110) for v in y), strict=True))

    assert codes(seen(marks=replace(whole, grey=lower))) == {"no_grey_or_scale"}


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"stops": 3.2}, "clipped"),
        ({"stops": -5.0}, "clipped"),
        ({"stops": -1.5, "kelvin": 2700.0, "cast": 1.0}, "clipped"),  # no blue is left
        ({"blur": 0.09}, "blurred"),
        ({"pixels_per_mm": 15.0}, "too_small"),
        ({"pixels_per_mm": 24.0, "planned": 0.22, "width": 0.22, "spread": None}, "too_small"),
        ({"falloff": 0.3}, "uneven_light"),
        ({"second_light": 0.35}, "uneven_light"),
    ],
)
def test_a_photo_that_cannot_be_measured_fairly_is_refused(changed, code):
    assert code in codes(seen(replace(PLAIN, **changed)))


def test_gloss_on_the_line_is_refused():
    pixels = drawn(PLAIN).copy()
    spots = places(PLAIN, np.arange(2.0, 24.0, 0.02), 0.0).astype(int)
    for dy in range(-7, 8):
        pixels[spots[:, 1] + dy, spots[:, 0]] = 255

    assert "covered_or_squeezed" in codes(seen(pixels=pixels))


def test_a_line_whose_skin_is_cut_off_is_refused():
    whole = marks_of(PLAIN)
    cut = 330
    up = tuple((x, y - cut) for x, y in whole.line.points)
    moved = replace(whole, height=whole.height - cut, line=replace(whole.line, points=up))
    strip = drawn(PLAIN)[cut:].copy()
    strip[:260] = drawn(PLAIN)[:260]  # the strip stays in the frame, over the lid

    assert codes(measure(strip, moved)) == {"covered_or_squeezed"}


def test_a_tilted_line_and_a_line_that_turns_back_are_refused():
    whole = marks_of(PLAIN)
    points = whole.line.points
    back = (points[0], points[4], points[1], points[8], points[2])

    assert "no_line" in codes(seen(marks=replace(whole, line=replace(whole.line, points=back))))
    steep = (points[0], (points[-1][0], points[-1][1] - 400.0))
    assert "tilted" in codes(seen(marks=replace(whole, line=replace(whole.line, points=steep))))


def test_between_lash_work_is_never_measured():
    marks = replace(marks_of(PLAIN), style="lash_enhancement")

    assert codes(seen(marks=marks)) == {"between_lashes"}


def test_marks_of_another_photo_are_not_laid_on_this_one():
    with pytest.raises(ValueError, match="marks are for"):
        measure(drawn(PLAIN)[:-1], marks_of(PLAIN))


def test_the_direction_of_marking_does_not_matter():
    whole = marks_of(PLAIN)
    other = replace(whole, line=replace(whole.line, points=whole.line.points[::-1]))
    one, two = seen().measured, seen(marks=other).measured

    assert one.kept.value == pytest.approx(two.kept.value, abs=0.5)
    assert one.width.value == pytest.approx(two.width.value, abs=0.01)
    assert one.segment_contrasts == pytest.approx(two.segment_contrasts[::-1], abs=4)


def test_a_lower_lid_is_an_upper_lid_upside_down():
    whole = marks_of(PLAIN)
    high = PLAIN.size[1]

    def turned(points):
        return tuple((x, high - y) for x, y in points)

    lower = replace(
        whole, grey=turned(whole.grey),
        scale=replace(whole.scale, start=(whole.scale.start[0], high - whole.scale.start[1]),
                      end=(whole.scale.end[0], high - whole.scale.end[1])),
        line=replace(whole.line, points=turned(whole.line.points), skin="below"),
    )  # fmt: skip
    found = measure(np.ascontiguousarray(drawn(PLAIN)[::-1]), lower).measured

    assert found.kept.value == pytest.approx(seen().measured.kept.value, abs=0.3)
    assert found.spread.value == pytest.approx(seen().measured.spread.value, abs=0.02)


def test_the_same_photo_gives_the_same_numbers():
    assert seen().measured == seen().measured


# A chord of an arc departs from it by its sagitta, c^2 / 8r: 0.375 mm for 6 mm chords and r = 12.
def test_points_six_millimetres_apart_follow_a_tight_lid():
    angles = np.linspace(-1.0, 1.0, 5)
    points = np.column_stack([500 + 12 * 20 * np.sin(angles), 100 + 12 * 20 * np.cos(angles)])
    line = Line(tuple((float(x), float(y)) for x, y in points), 1.0)
    curve = planned_curve(line, 20.0, 0.04)

    radius = np.hypot(curve.places[:, 0] - 500, curve.places[:, 1] - 100) / 20
    assert np.abs(radius - 12).max() < 0.03
    assert curve.length_mm == pytest.approx(24, abs=0.03)


def test_the_outline_shows_middle_and_edges_once_the_scale_is_known():
    points, scale = [[10.0, 100.0], [310.0, 100.0]], [[0.0, 0.0], [200.0, 0.0]]

    assert outline([[1.0, 1.0]], [], 10, 1) == []
    assert len(outline(points, [], 10, 1)) == 1
    middle, one, other = outline(points, scale, 10, 2.0)
    assert {y for _, y in middle} == {100.0}
    assert sorted([one[0][1], other[0][1]]) == [80.0, 120.0]


def turned_by(points, degrees, old, new):
    """Where points lie once a photo was turned about its middle, as PIL turns it."""
    angle = np.deg2rad(degrees)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    middle = np.array(points) - np.array(old)[::-1] / 2
    return tuple((float(x), float(y)) for x, y in middle @ turn.T + np.array(new)[::-1] / 2)


@pytest.mark.parametrize("degrees", [-12.0, 5.0])
def test_a_phone_that_was_not_held_level_changes_nothing(degrees):
    whole, flat = marks_of(PLAIN), drawn(PLAIN)
    picture = Image.fromarray(flat).rotate(
        degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=(180, 150, 130)
    )
    askew = np.asarray(picture)

    def there(points):
        return turned_by(points, degrees, flat.shape[:2], askew.shape[:2])

    start, end = there([whole.scale.start, whole.scale.end])
    marks = replace(
        whole, width=askew.shape[1], height=askew.shape[0], grey=there(whole.grey),
        scale=replace(whole.scale, start=start, end=end),
        line=replace(whole.line, points=there(whole.line.points)),
    )  # fmt: skip
    found, level = measure(askew, marks).measured, seen().measured

    assert found.kept.value == pytest.approx(level.kept.value, abs=1)
    assert found.width.value == pytest.approx(level.width.value, abs=0.02)
    assert found.spread.value == pytest.approx(level.spread.value, abs=0.05)
    assert found.contrast.value == pytest.approx(level.contrast.value, abs=0.5)
