"""A drawn photo is marked by mouse, and again by keyboard alone; both are measured right."""

import json
import re

import pytest
from playwright.sync_api import expect

from pmulab.demo.lid import places, reference_marks, truth_of
from pmulab.demo.photographs import drawn_photos

pytestmark = pytest.mark.browser

PHOTO = next(photo for photo in drawn_photos() if photo.marks is None)
SAVE = "Save the marks and measure this photo"
KINDS = {"grey": "Grey patch", "scale": "Scale", "line": "Planned line"}


def wanted(line):
    grey, scale = reference_marks(PHOTO.lid)
    along = [PHOTO.lid.length * part / (line - 1) for part in range(line)]
    parts = {"grey": grey, "scale": scale, "line": places(PHOTO.lid, along)}
    return {name: part.tolist() for name, part in parts.items()}


def saved(session):
    path = session.folder / "demo-study" / "photos" / f"{PHOTO.code}.marks.json"
    return json.loads(path.read_text())


def farthest(marks, points):
    found = {"grey": marks["grey"], "line": marks["line"]["points"],
             "scale": [marks["scale"]["start"], marks["scale"]["end"]]}  # fmt: skip
    return max(
        abs(a - b)
        for name, places in points.items()
        for seen, meant in zip(found[name], places, strict=True)
        for a, b in zip(seen, meant, strict=True)
    )


def said(form):
    """What the form announces; the marking element has an announcement of its own."""
    return form.panel.locator(".pmulab-said")


def kept(form):
    words = said(form).inner_text()
    return float(re.search(r"kept (\d+) ±", words)[1])


def opened(page):
    page.open("04_measure_photos.ipynb")
    page.run()
    form = page.form("Mark a photo")
    form.panel.scroll_into_view_if_needed()
    picture = form.panel.get_by_role("img", name=f"Photo {PHOTO.code}")
    expect(picture).to_be_visible()
    assert (
        picture.evaluate("(image) => image.decode().then(() => image.naturalWidth)")
        == (PHOTO.lid.size[0])
    )
    form.fill("Planned width of the line (mm)", f"{PHOTO.lid.planned:g}")
    return form


def test_a_photo_is_marked_by_mouse(page, session):
    form, points = opened(page), wanted(9)
    stage = form.panel.locator(".pmulab-marking-stage")
    page.in_kernel("import time; time.sleep(3)")  # marks on their way are marks all the same
    for name, title in KINDS.items():
        form.panel.get_by_role("radio", name=title).click()
        for x, y in points[name]:
            scale = stage.bounding_box()["width"] / PHOTO.lid.size[0]
            stage.click(position={"x": x * scale, "y": y * scale})
    expect(form.panel.get_by_role("radio", name="Planned line (9)")).to_be_visible()
    page.picture("marking-mouse", form.panel)
    form.press(SAVE)
    expect(said(form)).to_contain_text("kept", timeout=90_000)

    assert farthest(saved(session), points) < 2
    assert abs(kept(form) - truth_of(PHOTO.lid).kept) <= 3
    page.picture("marking-measured", form.panel)
    dot = form.panel.get_by_role("button", name="Planned line, point 1,")
    box = dot.bounding_box()
    page.page.mouse.move(box["x"] + 13, box["y"] + 13)
    page.page.mouse.down()
    page.page.mouse.move(box["x"] + 13, box["y"] + 43, steps=3)
    page.page.mouse.up()
    expect(dot).not_to_have_attribute("aria-label", re.compile(f"y {points['line'][0][1]:.0f}"))
    form.panel.get_by_role("button", name="Undo", exact=True).click()
    assert page.wrong == []


def test_a_photo_is_marked_by_keyboard_alone(page, session):
    (session.folder / "demo-study" / "photos" / f"{PHOTO.code}.marks.json").unlink(missing_ok=True)
    page.load_slowly()
    form, points = opened(page), wanted(3)
    keys = page.page.keyboard
    cells = page.cells()
    form.panel.get_by_role("radio", checked=True).focus()
    for index, name in enumerate(KINDS):
        if index:
            form.panel.get_by_role("radio", checked=True).focus()
            keys.press("ArrowRight")
        for number, (x, y) in enumerate(points[name], start=1):
            if number == 1:
                form.panel.get_by_role("button", name="Add a point").focus()
            keys.press("Enter")
            focused = page.page.locator(".pmulab-marking-dot:focus")
            expect(focused).to_have_attribute("aria-label", re.compile(f"{number}(,| of)"))
            label = focused.get_attribute("aria-label")
            here = [float(part) for part in re.search(r"x ([\d.]+), y ([\d.]+)", label).groups()]
            for gap, less, more in ((x - here[0], "Left", "Right"), (y - here[1], "Up", "Down")):
                key = f"Arrow{more if gap > 0 else less}"
                tens, ones = divmod(round(abs(gap)), 10)
                for _ in range(tens):
                    keys.press(f"Shift+{key}")
                for _ in range(ones):
                    keys.press(key)
    expect(form.panel.locator(".pmulab-edge")).to_have_count(2)  # drawn by Python from the marks
    keys.press("Shift+Tab")
    expect(page.page.locator(".pmulab-marking-dot:focus")).to_have_attribute(
        "aria-label", re.compile("Planned line, point 2")
    )
    before = page.page.locator(".pmulab-marking-dot:focus").get_attribute("aria-label")
    keys.press("ArrowUp")
    keys.press("Control+z")
    expect(form.panel.locator(".pmulab-marking-dot").nth(1)).to_have_attribute("aria-label", before)
    form.panel.get_by_role("button", name=SAVE).focus()
    keys.press("Enter")
    expect(said(form)).to_contain_text("kept", timeout=90_000)
    page.picture("marking-keyboard", form.panel)

    assert farthest(saved(session), points) < 1.1
    assert abs(kept(form) - truth_of(PHOTO.lid).kept) <= 3
    assert page.cells() == cells
    assert page.wrong == []
