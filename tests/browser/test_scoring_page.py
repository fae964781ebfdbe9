"""The scoring page in a browser without a network: by keyboard, mouse and touch, and back again."""

import json

import pytest
from browser.contrast import contrasts
from playwright.sync_api import expect
from scored import photo, prepared

from pmulab.stations.check import records_of
from pmulab.stations.score_collect import collect_scores

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Photos larger than the window, as they come from a phone."""
    place = tmp_path_factory.mktemp("scored") / "study"
    study, one, key = prepared(place, clients=3)
    assert photo()
    return study, one, key


@pytest.fixture
def opened(made, browser, tmp_path, request):
    """The page as a colleague opens it: a file, no network, whatever it asks for is noticed."""
    study, one, _ = made
    how = getattr(request, "param", {"viewport": {"width": 1200, "height": 900}})
    context = browser.new_context(offline=True, accept_downloads=True, **how)
    page = context.new_page()
    page.set_default_timeout(15_000)
    page.wrong = []
    page.on("pageerror", lambda error: page.wrong.append(str(error)))
    page.on("console", lambda m: page.wrong.append(m.text) if m.type == "error" else None)
    page.on("request", lambda r: page.wrong.append(r.url) if r.url.startswith("http") else None)
    page.address = study.path(one.page).as_uri()
    page.goto(page.address)
    yield page
    assert page.wrong == []
    context.close()


def begin(page, code="R1", operator="No"):
    page.get_by_label("Your assessor code").fill(code)
    page.get_by_label(operator, exact=True).check()
    page.get_by_role("button", name="Begin, or go on").click()


def said(page):
    return page.get_by_role("status")


def one_photo(page, kept="1234567", grades="321"):
    """One photo by keyboard: segments, two grades, migration no, no colour shift, touch-up no."""
    for digit in kept:
        page.keyboard.press(digit)
    page.keyboard.press("Enter")
    for digit in (*grades[:2], "1", "1", "1"):
        page.keyboard.press(digit)
    page.keyboard.press("Enter")


def step(page):
    return page.locator("#scorer").get_attribute("data-step")


def download(page, place):
    with page.expect_download() as file:
        page.get_by_role("button", name="Save the answer file").click()
    path = place / file.value.suggested_filename
    file.value.save_as(path)
    return path


def test_a_round_by_keyboard_alone_goes_round_the_full_circle(made, opened, tmp_path):
    study, _, key = made
    begin(opened)
    for showing in key.showings:
        assert step(opened) == f"photos:{showing.code}"
        one_photo(opened)
    for pair in key.pairs:
        assert step(opened) == f"pairs:{pair.code}"
        opened.keyboard.press("3")
    for showing in key.showings:
        assert step(opened) == f"guesses:{showing.code}"
        opened.keyboard.press("0")
    expect(said(opened)).to_contain_text("Everything is answered")
    path = download(opened, tmp_path)

    assert path.name == "scores-round-01-R1.json"
    content = json.loads(path.read_text())
    assert set(content["pairs"].values()) == {"right"}
    for answer in content["photos"].values():
        assert answer == {
            "segments_kept": [1, 2, 3, 4, 5, 6, 7], "retention_grade": "3", "evenness_grade": "2",
            "migration": "no", "colour_shift": "none", "touchup_needed": "no",
        }  # fmt: skip
    collect_scores(study, [path])
    healed = records_of(study)[0].healed
    assert set(healed["segments_kept"]) == {7}
    assert len(healed) == len(key.showings)


def test_every_picture_is_shown(made, opened):
    begin(opened)
    total = len(made[2].showings) + len(made[2].pairs)
    for _ in range(total):
        for shown in opened.locator("#scorer img").all():
            assert shown.evaluate("one => one.complete ? one.naturalWidth : one.decode()") != 0
            assert shown.get_attribute("alt")
        opened.keyboard.press("ArrowRight")
    assert step(opened).startswith("guesses:")


def test_back_undo_and_open_answers(made, opened):
    begin(opened, "R2")
    first = made[2].showings[0].code
    opened.keyboard.press("1")
    opened.keyboard.press("2")
    opened.keyboard.press("2")
    opened.keyboard.press("Enter")
    assert opened.locator(".question.now").get_attribute("data-name") == "retention_grade"
    opened.keyboard.press("4")
    opened.keyboard.press("9")
    opened.keyboard.press("u")
    assert opened.locator(".question.now").get_attribute("data-name") == "retention_grade"
    assert opened.locator("[data-name=retention_grade] [aria-pressed=true]").count() == 0
    opened.keyboard.press("2")
    opened.keyboard.press("ArrowRight")
    assert step(opened) != f"photos:{first}"
    opened.keyboard.press("ArrowLeft")
    assert step(opened) == f"photos:{first}"
    pressed = opened.locator("[data-name=retention_grade] [aria-pressed=true]")
    expect(pressed).to_have_attribute("data-value", "2")
    parts = opened.locator("[data-name=segments_kept] [aria-pressed=true]")
    expect(parts).to_have_count(1)
    expect(parts).to_have_attribute("data-part", "1")


def test_a_closed_page_goes_on_where_it_stopped(made, opened):
    begin(opened, "R3")
    one_photo(opened)
    second = step(opened)
    opened.goto(opened.address)
    begin(opened, "R3")

    assert step(opened) == second
    expect(said(opened)).to_contain_text("Kept in this browser")
    opened.goto(opened.address)
    begin(opened, "R4")
    assert step(opened) == f"photos:{made[2].showings[0].code}"


def test_an_answer_file_goes_on_in_another_browser(made, opened, browser, tmp_path):
    begin(opened, "R5", "Yes")
    one_photo(opened)
    second = step(opened)
    path = download(opened, tmp_path)
    context = browser.new_context(offline=True)
    other = context.new_page()
    other.goto(opened.address)
    other.get_by_label("To go on from an answer file").set_input_files(path)
    expect(other.locator("#begin-said")).to_contain_text("was read")
    other.get_by_role("button", name="Begin, or go on").click()

    assert step(other) == second
    context.close()


@pytest.mark.parametrize("text", ["{", "[]", '{"kind": "pmulab scores", "assessor": "R1"}'])
def test_a_file_that_is_no_answer_file_is_told(opened, tmp_path, text):
    path = tmp_path / "x.json"
    path.write_text(text)
    opened.get_by_label("To go on from an answer file").set_input_files(path)

    expect(opened.locator("#begin-said")).to_contain_text("cannot be read")


def test_without_a_code_nothing_begins(opened):
    opened.get_by_role("button", name="Begin, or go on").click()
    expect(opened.locator("#begin-said")).to_contain_text("assessor code")
    opened.get_by_label("Your assessor code").fill("Anna")
    opened.get_by_role("button", name="Begin, or go on").click()
    expect(opened.locator("#begin-said")).to_contain_text("such as R2")
    opened.get_by_label("Your assessor code").fill("r7")
    opened.get_by_role("button", name="Begin, or go on").click()
    expect(opened.locator("#begin-said")).to_contain_text("did any of this work")


def test_a_browser_that_keeps_nothing_says_so(opened):
    opened.add_init_script(
        "Storage.prototype.setItem = () => { throw new Error('no'); };"
        "Storage.prototype.getItem = () => { throw new Error('no'); };"
    )
    opened.goto(opened.address)
    begin(opened)

    expect(said(opened)).to_contain_text("save the answer file before you close")


PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@pytest.mark.parametrize("opened", [PHONE], indirect=True)
def test_a_photo_by_touch_on_a_phone(opened):
    begin(opened, "R8")
    first = step(opened)
    form = opened.locator("#scorer")
    form.get_by_role("button", name="part 2 kept", exact=True).tap()
    form.locator(".confirm").tap()
    form.locator("[data-name=retention_grade] [data-value='1']").tap()
    form.locator("[data-name=evenness_grade] [data-value='4']").tap()
    form.locator("[data-name=migration] [data-value=possible]").tap()
    form.locator("[data-name=colour_shift] [data-value=ashy]").tap()
    form.locator("[data-name=touchup_needed] [data-value=yes]").tap()
    form.get_by_role("button", name="Next", exact=False).tap()

    assert step(opened) != first
    wide = opened.evaluate("document.documentElement.scrollWidth")
    assert wide <= 390
    for button in form.get_by_role("button").all():
        assert button.bounding_box()["height"] >= 44  # WCAG 2.1, 2.5.5: 44 by 44 pixels


def test_a_photo_that_cannot_be_judged(made, opened, tmp_path):
    begin(opened, "R9")
    opened.keyboard.press("x")
    opened.get_by_role("button", name="blurred").click()
    content = json.loads(download(opened, tmp_path).read_text())

    assert content["photos"] == {made[2].showings[0].code: {"photo_quality": "blurred"}}


def test_text_stands_out_and_every_input_has_a_name(opened, tmp_path):
    found = contrasts(opened, ".pmulab-scorer")
    begin(opened, "R6")
    one_photo(opened)
    opened.keyboard.press("2")
    found += contrasts(opened, ".pmulab-scorer")

    assert len(found) > 40
    assert [one for one in found if one[0] < 4.5] == []
    assert opened.locator("html").get_attribute("lang")
    for group in opened.get_by_role("group").all():
        assert group.locator("legend").first.inner_text()


LAPTOP = {"viewport": {"width": 1280, "height": 900}}


@pytest.mark.parametrize("opened", [LAPTOP], indirect=True)
def test_every_question_of_a_photo_is_in_sight(opened):
    """One question stands open, the others are a line each; nothing lies below the edge."""
    begin(opened, "R10")
    for keys in ("a", "3", "2", "1"):
        assert opened.evaluate("document.documentElement.scrollHeight") <= 900
        opened.keyboard.press(keys)
    expect(opened.locator("[data-name=segments_kept] .summary")).to_have_text(
        "Segments kept: all ten kept"
    )
    opened.locator("[data-name=retention_grade] .summary").click()
    assert opened.locator(".question.now").get_attribute("data-name") == "retention_grade"


def test_the_last_answer_turns_to_the_next_photo_and_a_slip_says_nothing(made, opened):
    begin(opened, "R11")
    first, second = (showing.code for showing in made[2].showings[:2])
    opened.keyboard.press("Enter")  # nothing is marked, so nothing is said
    assert opened.locator(".question.now").get_attribute("data-name") == "segments_kept"
    for key in ("n", "0", "2", "1", "1", "1"):
        assert step(opened) == f"photos:{first}"
        opened.keyboard.press(key)
    assert step(opened) == f"photos:{second}"
    expect(said(opened)).to_contain_text(f"Answered: 1 of {len(made[2].showings)} photos")
    opened.keyboard.press("u")
    assert step(opened) == f"photos:{first}"
