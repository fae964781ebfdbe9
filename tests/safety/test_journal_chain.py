"""What was changed outside and since when, what a correction does, and what nobody can know."""

import json

import pytest
from studies import clock, enrolled_study, fill_workbook, paired_study, plan_text

from pmulab.errors import UserError
from pmulab.journal import HEAD
from pmulab.stations.amend import amend
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check
from pmulab.stations.handout import handout
from pmulab.stations.rounds import rounds
from pmulab.study import Study, begin

A, B = [12.0, 14.5, 13.0, 15.5], [11.0, 13.0, 13.5, 14.0]


@pytest.fixture
def study(tmp_path):
    return paired_study(tmp_path / "study", A, B)


def take_away(study, lines):
    path = study.path("journal.jsonl")
    kept = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(kept[:-lines]))


def retype(study, a):
    """Put other values into the workbook, as somebody would who types over them."""
    study.path("records.xlsx").unlink()
    blank = study.file_hash("records.xlsx")
    made = next(entry for entry in study.journal() if entry.event == "plan locked")
    values = {(f"C10{n}", arm): value for n, pair in enumerate(zip(a, B, strict=True), start=1)
              for arm, value in zip("AB", pair, strict=True)}  # fmt: skip
    object.__setattr__(made, "detail", {**made.detail, "workbook": blank})
    told = type(study).journal
    type(study).journal = lambda self: tuple(
        made if entry.event == "plan locked" else entry for entry in told(self)
    )
    try:
        fill_workbook(study, values)
    finally:
        type(study).journal = told


@pytest.mark.parametrize("lines", [1, 2, 3])
def test_lines_taken_away_at_the_end_are_missed_and_stay_so(study, lines):
    take_away(study, lines)

    assert any("its last lines, up to line 6, are gone" in one for one in study.tampering())
    with study.writing():
        study.record("something")
    told = [one for one in study.tampering() if "up to line 6" in one]
    assert told == [told[0]]
    assert "its last lines, up to line 6" in str(check(study))


def test_lines_taken_away_together_with_what_notes_them_are_told_by_the_findings(study):
    analyse(study)
    take_away(study, len(study.journal()) - 3)
    study.path(HEAD).unlink()

    assert "findings.json was made when it had a line 7 that is gone" in str(check(study))
    with pytest.raises(UserError, match="Lines of the journal were taken away"):
        handout(study)


def test_a_whole_copy_put_back_is_no_change(study, tmp_path):
    """Journal and folder from one copy fit each other: what came later cannot be known."""
    import shutil

    shutil.copytree(study.folder, tmp_path / "copy")
    with study.writing():
        study.record("something later")

    assert Study(tmp_path / "copy", clock(120)).tampering() == ()


def test_a_line_taken_out_of_the_middle_is_placed(study):
    path = study.path("journal.jsonl")
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:3] + lines[4:]))

    (told,) = [one for one in study.tampering() if "taken out" in one]
    assert "before line 5 (client enrolled" in told
    assert "after line 3 (client enrolled" in told


def test_cards_changed_between_two_lines_are_placed(study):
    check(study)
    cards = study.path("allocation.csv")
    cards.write_bytes(cards.read_bytes() + b"\n")
    known = len(study.journal())
    told = str(check(study))

    assert "allocation.csv is not the file that was written at locking" in told
    assert f"changed after line {known} (records checked" in told
    again = str(check(study))
    assert f"allocation.csv was changed after line {known} (" in again
    assert f"and before line {known + 1} (records checked" in again


def test_an_answer_changed_in_the_list_of_clients_is_told(study):
    path = study.path("clients.csv")
    path.write_text(path.read_text().replace("30-39", "40-49", 1))

    told = str(check(study))
    assert "clients.csv: the answers of the client of journal.jsonl, line 3, are not those" in told
    assert "clients.csv was changed after line" in told


def test_a_consent_taken_back_later_is_no_change_of_answers(study):
    path = study.path("clients.csv")
    header, *rows = path.read_text().splitlines()
    place = header.split(",").index("consent_withdrawn")
    cells = rows[0].split(",")
    cells[place] = "2026-03-01"
    path.write_text("\n".join([header, ",".join(cells), *rows[1:]]) + "\n")

    assert study.tampering() == ()


def test_records_typed_while_the_study_runs_are_placed_and_no_alarm(tmp_path):
    study = enrolled_study(tmp_path / "study", 2)
    fill_workbook(study, {(f"C10{n}", arm): 5.0 for n in (1, 2) for arm in "AB"})

    answer = check(study)
    assert not answer.found_problems
    assert "records.xlsx was changed after line 4 (client enrolled" in str(answer)
    assert "as it should be if you typed into it" in str(answer)
    assert "records.xlsx was changed" not in str(check(study))


def test_a_correction_after_the_analysis_asks_for_a_reason_and_stands_on_the_handout(study):
    analyse(study)
    handout(study)
    retype(study, [12.0, 14.5, 13.0, 16.5])

    told = check(study)
    assert told.found_problems
    assert "The records were changed after the analysis (line" in str(told)
    assert "pmulab amend" in str(told)

    amend(study, "C104: the stopwatch said 16.5, see the sheet")
    assert "say why" not in str(check(study))
    analyse(study)
    page = study.path("handout.html")
    handout(study)
    assert "(records.xlsx): C104: the stopwatch said 16.5, see the sheet" in page.read_text()


def test_a_correction_of_plan_and_answers_stays_visible_and_the_locked_plan_holds(study):
    plan, clients = study.path("plan.toml"), study.path("clients.csv")
    plan.write_text(plan.read_text().replace("A published data set", "A published set"))
    clients.write_text(clients.read_text().replace("30-39", "40-49", 1))
    assert check(study).found_problems

    answer = amend(study, "a slip in the title, and in one age")
    assert answer.value == ("plan.toml", "clients.csv", "records.xlsx")
    assert "The locked plan holds all the same" in str(answer)
    assert study.tampering() == ()
    assert not check(study).found_problems
    assert study.plan().study.title == "A published data set"
    looks = analyse(study).value.provenance.looks
    assert any("a slip in the title" in one for one in looks)

    plan.write_text(plan.read_text().replace("A published set", "Yet another"))
    assert check(study).found_problems


def test_nothing_is_amended_without_a_change_a_reason_or_a_locked_plan(study, tmp_path):
    analyse(study)
    for reason, words in (
        ("", "No reason"),
        ("Anna Example, 12.03.1990, called", "who a person is"),
        ("nothing happened", "Nothing was changed"),
    ):
        with pytest.raises(UserError, match=words):
            amend(study, reason)
    with pytest.raises(UserError, match="not locked yet"):
        amend(begin(tmp_path / "new", plan_text(), clock()), "a slip")
    assert "amended" not in {entry.event for entry in study.journal()}


def test_a_line_changed_with_a_fresh_fingerprint_breaks_the_chain(study):
    from pmulab.entries import Entry

    path = study.path("journal.jsonl")
    lines = path.read_text().splitlines()
    content = json.loads(lines[2])
    content["detail"]["slot"] = 2
    lines[2] = Entry(**content).sealed().line()
    path.write_text("\n".join(lines) + "\n")

    assert any("before line 4" in one for one in study.tampering())
    assert rounds(study) == ()
