"""A study from the question to the handout, with nothing but a mouse and a keyboard."""

from datetime import date

import pytest
from browser.answers import eligible, label
from browser.notebook_page import TWICE_AS_LARGE
from browser.workbooks import mended, messy
from playwright.sync_api import expect

from pmulab.questions import question
from pmulab.stations.lock import PROMISES, lock
from pmulab.stations.new import new
from pmulab.stations.revise import revise
from pmulab.study import Study

pytestmark = pytest.mark.browser

FOLDER = "wipes-2026"
PROMISE_LABELS = (
    "Who allowed this comparison",
    "Later use of numbers and photos",
    "Who may learn which way was used, and when",
    "Why nobody looks early",
    "If something goes wrong",
    "What leaves the studio",
)

_SLOW_STANDING = """import time
from pmulab.panels import choose
quick = choose.standing
choose.standing = lambda **given: (time.sleep(2), quick(**given))[1]
"""


def _no_trouble(page):
    assert page.trouble() == []


def test_a_study_is_planned_and_locked_by_clicking(page, session):
    page.open("01_plan_a_comparison.ipynb")
    page.run()
    begin = page.form("1. The question")
    begin.choose("Question", question("wipe-material").summary)
    expect(begin.panel).to_contain_text("squeeze the wipe out")
    begin.fill("Name of the new folder", FOLDER)
    begin.press("Begin this study")
    expect(begin.said).to_contain_text("A new study")
    follows = page.page.get_by_text(f"open_study(study='{FOLDER}')")
    expect(follows).to_have_count(2)  # answers below the forms, in the place of the demo study's
    page.picture("clicked-1-begun", begin.panel)

    ways = page.form("2. The two ways, and the one measure that decides")
    ways.fill("Way A", "damp cotton wipe")
    ways.press("Save the two ways")
    expect(ways.said).to_contain_text("Saved in the plan: Way A.")

    matters = page.form("3. What difference would matter, and how many clients?")
    before = matters.panel.locator("figure").inner_html()
    matters.fill("Smallest worthwhile difference (min)", "1,5")
    matters.fill("Spread (min)", "2")
    expect(matters.panel).to_contain_text("If values spread by 2 min")
    expect(matters.panel).to_contain_text("size(study='wipes-2026', sd=2.0, worthwhile=1.5)")
    assert matters.panel.locator("figure").inner_html() != before
    matters.panel.get_by_label("I have decided this myself: it is my own number").check()
    matters.press("Save these numbers")
    expect(matters.said).to_contain_text("Saved in the plan: Smallest worthwhile")
    page.picture("clicked-2-matters", matters.panel)

    promises = page.form("4. Six promises")
    for promise in PROMISE_LABELS:
        promises.fill(promise, "Settled with the insurer and the study group (invented).")
    promises.press("Save the promises")
    expect(promises.said).to_contain_text("Saved in the plan")
    page.picture("clicked-3-promises", promises.panel)

    lock = page.form("5. Lock the plan")
    expect(lock.panel).to_contain_text("damp cotton wipe")
    expect(lock.panel).to_contain_text("Stop and refer at once")
    lock.panel.get_by_label("I have read every line of the plan, and it is what I want").check()
    page.picture("clicked-4-before-locking", lock.panel)
    lock.press("Lock the plan")
    expect(lock.said).to_contain_text("The plan is locked")
    page.picture("clicked-5-locked", lock.panel)

    _no_trouble(page)
    plan = Study(session.folder / FOLDER).locked().plan
    assert plan.arms.A.label == "damp cotton wipe"
    assert plan.primary.worthwhile == 1.5
    assert plan.primary.worthwhile_own
    assert all("insurer" in getattr(plan.promises, name) for name in PROMISES)


def test_steps_and_what_the_records_have_to_show_are_brought_together(page, session):
    page.open("01_plan_a_comparison.ipynb")
    page.run()
    begin = page.form("1. The question")
    begin.choose("Question", question("numbing-time").summary)
    begin.fill("Name of the new folder", "numbing-2026")
    begin.press("Begin this study")
    expect(begin.said).to_contain_text("A new study")

    ways = page.form("2. The two ways, and the one measure that decides")
    lock = page.form("5. Lock the plan")
    ways.fill("The question, as you ask it aloud", "Does 20 minutes hurt less than 15?")
    steps = ways.panel.get_by_label("Steps of way A", exact=True)
    steps.fill(steps.input_value().replace("25 minutes", "20 minutes"))
    ways.choose("Check something else as well", "Passes")
    ways.fill("Way B, Passes: least", "2")  # in the form made anew, where the typing above stays
    ways.fill("Way B, Passes: most", "3")
    ways.press("Save the two ways")
    expect(ways.said).to_contain_text("says 20 in its steps")
    expect(lock.panel).to_contain_text("honest rows would be pointed out as wrong")
    page.picture("clicked-steps-and-limits", ways.panel)
    ways.fill("Way A, Numbing time (min): least", "18")
    ways.fill("Way A, Numbing time (min): most", "22")
    ways.press("Save the two ways")
    expect(lock.panel).to_contain_text("Does 20 minutes hurt less than 15?")
    expect(lock.panel).to_contain_text("Numbing time (min) 18 to 22")
    expect(lock.panel).not_to_contain_text("honest rows")

    _no_trouble(page)
    arms = Study(session.folder / "numbing-2026").plan().arms
    assert arms.A.recorded == {"numbing_min": (18, 22)}
    assert arms.B.recorded == {"numbing_min": (13, 17), "passes": (2, 3)}


@pytest.fixture
def locked_study(session):
    """The study that the first test locks, or the same made by the stations."""
    folder = session.folder / FOLDER
    if not folder.exists():
        new(folder, "wipe-material")
        revise(folder, {f"promises.{name}": "Settled (invented)." for name in PROMISES})
        revise(folder, {"arms.A.label": "damp cotton wipe"})
        lock(folder)
    return Study(folder)


def _ask(form, code, answers):
    form.fill("Client code", code)
    for question_, answer in answers.items():
        form.choose(question_, answer)
    form.fill(label("consent_record_date"), "2026-03-01")
    form.press("Save her answers and open her card")


def _choose_study(page, enrolled):
    chosen = page.form("Which study?")
    chosen.choose("Study", f"{FOLDER} ({enrolled} of 12 clients)")
    expect(chosen.said).to_contain_text(f"{FOLDER}: ")


def test_clients_are_enrolled_or_refused_and_the_workbook_is_checked_until_mended(
    page, locked_study, tmp_path
):
    page.open("02_record_and_check_cases.ipynb")
    page.run()
    _choose_study(page, 0)
    enrol = page.form("Ask one client, then open her card")
    for code in ("C101", "C102"):
        _ask(enrol, code, eligible())
        card = enrol.panel.get_by_role("group", name=f"Card of {code}")
        expect(card).to_contain_text("damp cotton wipe")
        expect(card).to_contain_text("LEFT eyelid")
    page.picture("clicked-6-card", enrol.panel)
    line = enrol.panel.locator("details", has_text="it repeats her answers")
    expect(line.locator("pre")).to_be_hidden()
    line.locator("summary").focus()
    page.page.keyboard.press("Enter")
    expect(line.locator("pre")).to_contain_text("'contacts': 'no'")
    assert page.barriers() == []
    assert page.cut_off(TWICE_AS_LARGE) == []

    _ask(enrol, "C103", eligible(pregnant_or_nursing="yes"))
    expect(enrol.said).to_contain_text("C103 does not take part; no card was opened.")
    expect(enrol.said).to_contain_text("breast-feeding: defer")
    expect(enrol.panel.get_by_role("group", name="Card of")).to_have_count(0)
    page.picture("clicked-7-refused", enrol.panel)
    enrol.fill("Client code", "C104")
    enrol.choose(label("pregnant_or_nursing"), "she does not say")
    expect(enrol.panel).to_contain_text("Not saved yet: C104 with 1 answer.")
    expect(enrol.said).not_to_contain_text("breast-feeding")
    page.picture("clicked-7-half-filled", enrol.panel)

    blank, records = locked_study.path("records.xlsx"), page.form("Check the records")
    typed = messy(blank, tmp_path / "my typing.xlsx")
    records.choose_file(typed)
    expect(records.panel.get_by_role("table").first).to_contain_text("work_min")
    expect(records.panel.get_by_role("table").first).to_contain_text("sheet sessions, row 2")
    expect(records.said).to_contain_text("Put these places right")
    page.picture("clicked-8-problems", records.panel)
    mended(blank, typed, locked_study.assignments(), date.today())
    records.choose_file(typed)
    expect(records.said).to_contain_text("Nothing here blocks the analysis.")
    page.picture("clicked-8-mended", records.panel)

    _no_trouble(page)
    assert [one.client_code for one in locked_study.assignments()] == ["C101", "C102"]
    assert locked_study.path("uploaded-2.xlsx").read_bytes() == typed.read_bytes()


def test_a_file_that_cannot_be_taken_in_is_told(page, locked_study, tmp_path):
    page.open("02_record_and_check_cases.ipynb")
    page.run()
    _choose_study(page, len(locked_study.assignments()))
    records = page.form("Check the records")
    for name, size, told in (
        ("lashes.jpg", 10, "cannot be checked"),
        ("sheet.ods", 10, "cannot be checked"),
        ("large.xlsx", 12_000_000, "at most 9 MB"),
    ):
        (tmp_path / name).write_bytes(b"x" * size)
        records.choose_file(tmp_path / name)
        expect(records.said).to_contain_text(told)
        assert any(told in one for one in page.trouble())
    assert page.wrong == []


def test_closed_and_opened_again_everything_is_there(page, locked_study):
    page.open("02_record_and_check_cases.ipynb")
    page.run()
    enrolled = len(locked_study.assignments())
    _choose_study(page, enrolled)
    page.close()
    page.open_again()
    page.open("01_plan_a_comparison.ipynb")
    page.run()

    study = page.form("Which study?").panel.get_by_label("Study")
    expect(study).to_have_value(f"{FOLDER} ({enrolled} of 12 clients)")
    ways = page.form("2. The two ways, and the one measure that decides")
    expect(ways.panel).to_contain_text("Locked on")
    expect(ways.panel.get_by_label("Way A", exact=True)).to_have_value("damp cotton wipe")
    expect(ways.panel.get_by_label("Way A", exact=True)).to_be_disabled()
    page.picture("reopened", ways.panel)
    _no_trouble(page)


def test_the_arms_of_a_running_study_stay_hidden(page, locked_study):
    page.open("05_analyse.ipynb")
    page.run()
    _choose_study(page, len(locked_study.assignments()))
    analyse = page.form("Analyse")
    analyse.press("Analyse")

    expect(analyse.said).to_contain_text("the arms stay hidden")
    expect(analyse.panel.get_by_role("img").first).to_be_visible()
    expect(analyse.panel).not_to_contain_text("damp cotton wipe")
    page.picture("clicked-11-running", analyse.panel)
    _no_trouble(page)


def test_the_findings_are_seen_and_the_handout_is_saved(page, session):
    page.open("05_analyse.ipynb")
    page.run()
    analyse = page.form("Analyse")
    analyse.press("Analyse")
    expect(analyse.said).to_contain_text("Main outcome. Working minutes: 3.2 min lower")
    expect(analyse.panel.get_by_role("img").first).to_be_visible()
    analyse.panel.get_by_text("Extra looks").click()
    expect(analyse.panel).to_contain_text("Exploratory: Swelling")
    page.picture("clicked-9-findings", analyse.panel)
    _no_trouble(page)

    page.open("06_share.ipynb")
    page.run()
    share = page.form("The handout")
    share.press("Show it first")
    frame = share.panel.frame_locator("iframe")
    expect(frame.locator("body")).to_contain_text("damp wipe")
    page.picture("clicked-10-preview", share.panel)
    written = session.folder / "demo-study" / "handout.html"
    before = written.stat().st_mtime_ns
    page.in_kernel(_SLOW_STANDING)
    page.form("Which study?").press("Show how far it has come")
    share.panel.get_by_label("Who hands it on (at the head)").focus()
    page.page.keyboard.type("Studio group North (invented)")
    share.press("Save the handout")  # pressed while Python is still busy with the other form
    expect(share.said).to_contain_text("Written: demo-study/handout.html")
    assert written.stat().st_mtime_ns > before
    assert "Studio group North (invented)" in written.read_text()
    _no_trouble(page)


def test_single_keys_in_a_form_never_reach_the_notebook(page):
    page.open("02_record_and_check_cases.ipynb")
    page.run()
    expect(page.page.locator(".pmulab-panel[data-pmulab-guard=on]")).to_have_count(4)
    before, records = page.cells(), page.form("Check the records").panel
    places = (
        page.form("Which study?").panel.get_by_label("Study"),
        records.get_by_role("button", name="Check", exact=True),
        records.get_by_label("Choose a file to check"),
        page.page.locator(".pmulab-panel summary").first,
    )

    for place in places:
        for keys in ("d d", "x", "a", "b", "m", "0 0"):
            place.focus()
            for key in keys.split():
                page.page.keyboard.press(key)
        expect(place).to_be_visible()

    assert page.cells() == before
    assert page.page.get_by_role("dialog").count() == 0
    _no_trouble(page)


def test_the_first_form_can_be_used_with_the_keyboard_alone(page):
    page.open("00_start_here.ipynb")
    page.run()
    form = page.form("Which study?")
    form.panel.get_by_label("Study").focus()

    page.page.keyboard.press("Tab")
    expect(form.panel.get_by_role("button")).to_be_focused()
    page.page.keyboard.press("Enter")
    expect(form.said).to_contain_text("Enrolled: 12 of 12")

    page.picture("keyboard-1", form.panel)
    _no_trouble(page)
