"""Nothing a user entered is lost, and what was changed outside is noticed."""

import json
import os
from pathlib import Path

import pytest
from studies import ANSWERS, clock, code_of, enrolled_study, plan_text

from pmulab.errors import UserError
from pmulab.questions import draft, names
from pmulab.questions.comments import PLACEHOLDER
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.stations.lock import lock
from pmulab.stations.standing import studies
from pmulab.study import Study, begin, write_atomically


@pytest.fixture
def study(tmp_path):
    return begin(tmp_path / "study", plan_text(), clock())


def test_a_second_study_in_the_same_folder_is_refused(study):
    with pytest.raises(UserError, match="already a study"):
        begin(study.folder, plan_text())


def test_a_folder_without_a_plan_is_no_study(tmp_path):
    with pytest.raises(UserError, match="no study"):
        Study(tmp_path)


def test_a_write_that_fails_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "file.txt"
    write_atomically(path, "old")

    def refuse(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(OSError, match="No space"):
        write_atomically(path, "new")

    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["file.txt"]


def test_a_file_of_the_user_is_never_overwritten(study):
    study.keep("photo.txt", "mine")
    with pytest.raises(UserError, match="never overwritten"):
        study.keep("photo.txt", "other")

    assert study.path("photo.txt").read_text() == "mine"


def test_only_files_that_can_be_made_anew_are_written_again(study):
    with pytest.raises(ValueError, match=r"plan\.toml"):
        study.remake("plan.toml", "")


def test_a_form_with_something_typed_in_it_is_not_filled(study):
    study.path("form").write_bytes(b"typed")
    with pytest.raises(UserError, match="not blank any more"):
        study.fill_blank("form", b"new", "0" * 64)


def test_a_locked_plan_stays_and_an_edit_is_told(study):
    locked = lock(study).value.plan
    edited = plan_text(worthwhile=0.1)
    study.path("plan.toml").write_text(edited)

    assert study.plan() == locked
    assert [str(one) for one in study.plan_changes()] == [
        "Smallest worthwhile difference, main measure (primary.worthwhile): locked as '0.5', "
        "now '0.1'"
    ]


def test_a_plan_that_cannot_be_read_after_locking_counts_as_changed(study):
    lock(study)
    study.path("plan.toml").write_text("format = ")

    assert len(study.plan_changes()) == 1


def test_locking_twice_is_refused(study):
    lock(study)
    with pytest.raises(UserError, match="was locked"):
        lock(study)


def test_locking_is_refused_while_a_promise_is_empty(tmp_path):
    text = plan_text().replace('after_care = "nobody was treated"', 'after_care = ""')
    study = begin(tmp_path / "study", text)
    with pytest.raises(UserError, match="after_care"):
        lock(study)


def test_changed_cards_and_journal_lines_are_noticed(study):
    lock(study)
    assert study.tampering() == ()

    cards = study.path("allocation.csv")
    cards.write_text(cards.read_text() + "\n")
    journal = study.path("journal.jsonl")
    first, *rest = journal.read_text().splitlines()
    entry = json.loads(first) | {"time": "1999-01-01T00:00:00+00:00"}
    journal.write_text("\n".join([json.dumps(entry), *rest]) + "\n")

    assert len(study.tampering()) == 2


def test_a_line_cut_short_by_a_crash_is_left_out_and_the_next_one_is_kept(study):
    journal = study.path("journal.jsonl")
    journal.write_bytes(journal.read_bytes() + b'{"number": 2, "time": "20')

    assert len(study.journal()) == 1
    with study.writing():
        study.record("something")

    events = [entry.event for entry in study.journal()]
    assert events == ["study begun", "line cut short", "something"]
    assert study.tampering() == ()


@pytest.mark.parametrize("tail", ['{"number": 2, "time": "ö'.encode()[:-1], b"\0" * 64])
def test_what_a_crash_leaves_behind_the_last_line_is_passed_over(study, tail):
    """A file system may leave half a letter or a run of NUL bytes after a power cut."""
    journal = study.path("journal.jsonl")
    journal.write_bytes(journal.read_bytes() + tail)
    with study.writing():
        study.record("something")

    assert [entry.event for entry in study.journal()][::2] == ["study begun", "something"]
    assert study.tampering() == ()


def test_a_line_end_lost_in_an_editor_is_put_back(study):
    journal = study.path("journal.jsonl")
    journal.write_bytes(journal.read_bytes().rstrip(b"\n"))
    with study.writing():
        study.record("something")

    assert [entry.event for entry in study.journal()] == ["study begun", "something"]
    assert study.tampering() == ()


@pytest.mark.parametrize("spoil", [lambda line: line[:-1], lambda line: line[: len(line) // 2]])
def test_a_line_cut_short_by_hand_is_noticed(tmp_path, spoil):
    study = enrolled_study(tmp_path / "study", 2)
    journal = study.path("journal.jsonl")
    *lines, last = journal.read_text().splitlines()
    journal.write_text("\n".join([*lines, spoil(last)]) + "\n")

    assert any("cut short" in one for one in study.tampering())
    with study.writing():
        study.record("something")
    assert any("cut short" in one for one in study.tampering())


@pytest.mark.parametrize("mark", ["\u2028", "\u2029", "\x85", "\x0b"])
def test_odd_line_ends_in_a_text_do_not_break_the_journal(tmp_path, mark):
    """Line and paragraph separators of Unicode (standard, chapter 5.8)."""
    text = plan_text().replace('sharing = "published"', f'sharing = "one{mark}two"')
    if mark == "\x0b":
        text = text.replace(mark, "\\u000b")
    study = begin(tmp_path / "study", text, clock())
    lock(study)
    with study.writing():
        study.record("study stopped", reason=f"one{mark}two", clients=0)

    assert study.plan().promises.sharing == f"one{mark}two"
    assert study.journal()[-1].detail["reason"] == f"one{mark}two"
    assert study.tampering() == ()


@pytest.mark.parametrize(
    "change",
    [
        lambda entry: entry | {"detail": None},
        lambda entry: entry | {"time": 5},
        lambda entry: entry | {"time": "yesterday"},
        lambda entry: entry | {"number": "1"},
        lambda entry: entry | {"colour": "blue"},
        lambda entry: entry | {"detail": {"client_code": "C101"}},
        lambda entry: entry | {"detail": {"client_code": "C101", "slot": "1"}},
        lambda entry: entry | {"event": "plan locked"},
        lambda entry: entry | {"event": "study stopped"},
        lambda entry: [entry],
    ],
)
def test_a_line_that_lacks_what_its_event_needs_is_told_everywhere(tmp_path, change):
    study = enrolled_study(tmp_path / "study", 1)
    journal = study.path("journal.jsonl")
    lines = journal.read_text().splitlines()
    lines[2] = json.dumps(change(json.loads(lines[2])))
    journal.write_text("\n".join(lines) + "\n")

    for station in (check, analyse):
        with pytest.raises(UserError, match="line 3"):
            station(study)
    assert [one.reached for one in studies(tmp_path).value] == ["unreadable"]


def test_a_journal_that_is_gone_is_told(tmp_path):
    study = enrolled_study(tmp_path / "study", 1)
    journal = study.path("journal.jsonl")
    first = journal.read_bytes().splitlines(keepends=True)[0]
    journal.unlink()
    for station in (check, analyse, lock):
        with pytest.raises(UserError, match=r"journal\.jsonl is missing"):
            station(study)

    journal.write_bytes(first)
    assert any("no line says" in one for one in study.tampering())
    with pytest.raises(UserError, match="Clients were asked already"):
        lock(study)


def test_a_plan_that_is_gone_is_told_and_nothing_is_begun_over_it(tmp_path):
    study = enrolled_study(tmp_path / "study", 1)
    before = study.path("journal.jsonl").read_bytes()
    study.path("plan.toml").unlink()

    with pytest.raises(UserError, match=r"plan\.toml is missing"):
        Study(study.folder)
    with pytest.raises(UserError, match=r"plan\.toml is missing"):
        begin(study.folder, plan_text())
    assert study.path("journal.jsonl").read_bytes() == before
    assert "plan.toml is missing" in str(studies(tmp_path))


@pytest.mark.parametrize("name", ["allocation.csv", "clients.csv", "journal.jsonl"])
def test_a_file_that_another_program_holds_is_told(tmp_path, monkeypatch, name):
    study = enrolled_study(tmp_path / "study", 1)
    whole = Path.read_bytes

    def held(self):
        if self.name == name:
            raise PermissionError(13, "The process cannot access the file", str(self))
        return whole(self)

    monkeypatch.setattr(Path, "read_bytes", held)
    for call in (lambda: study.tampering(), lambda: check(study), lambda: analyse(study)):
        try:
            told = str(call())
        except UserError as error:
            told = error.what
        assert name in told
        assert "another program holds it open" in told


def test_a_list_open_in_a_spreadsheet_is_not_called_a_full_disk(tmp_path, monkeypatch):
    study = enrolled_study(tmp_path / "study", 1)
    whole = os.replace

    def held(source, target):
        if str(target).endswith("clients.csv"):
            raise PermissionError(13, "The process cannot access", str(source), None, str(target))
        whole(source, target)

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(UserError, match=r"clients\.csv could not be") as told:
        enrol(study, "C900", ANSWERS)
    assert "Close it in the spreadsheet program" in told.value.remedy
    assert len(study.assignments()) == 1


CRASHES = ["allocation.csv", "records.xlsx", "chairside-sheet.html", "journal.jsonl"]


@pytest.mark.parametrize("name", CRASHES)
def test_locking_goes_on_with_the_same_cards_after_a_crash(study, monkeypatch, name):
    with monkeypatch.context() as broken:
        if name == "journal.jsonl":
            broken.setattr(Study, "record", crash)
        else:
            whole = os.replace
            broken.setattr(
                os, "replace", lambda a, b: crash() if str(b).endswith(name) else whole(a, b)
            )
        with pytest.raises(KeyboardInterrupt):
            lock(study)
    cards = study.path("allocation.csv")
    drawn = cards.read_bytes() if cards.exists() else None

    assert study.locked() is None
    lock(study)
    assert drawn in (None, cards.read_bytes())
    assert (drawn is None) == (name == "allocation.csv")
    assert study.tampering() == ()
    assert study.path("records.xlsx").exists()


def test_cards_are_not_drawn_again_for_a_plan_that_was_changed_in_between(study, monkeypatch):
    with monkeypatch.context() as broken:
        broken.setattr(Study, "record", crash)
        with pytest.raises(KeyboardInterrupt):
            lock(study)
    study.path("plan.toml").write_text(plan_text(planned=20))

    with pytest.raises(UserError, match="another design or number"):
        lock(study)
    study.path("plan.toml").write_text(plan_text())
    assert len(lock(study).value.allocation) == 64


def crash(*_, **__):
    raise KeyboardInterrupt


def test_a_journal_line_that_makes_no_sense_is_told_with_its_number(study):
    journal = study.path("journal.jsonl")
    journal.write_text("nonsense\n" + journal.read_text())
    with pytest.raises(UserError, match="line 1"):
        study.journal()


def test_a_client_is_enrolled_once(tmp_path):
    study = enrolled_study(tmp_path / "study", 2)
    with pytest.raises(UserError, match="was enrolled"):
        enrol(study, code_of(1), ANSWERS)

    assert len(study.assignments()) == 2


def test_an_excluded_client_is_counted_and_gets_no_card(tmp_path):
    study = enrolled_study(tmp_path / "study", 2)

    answer = enrol(study, "C900", ANSWERS | {"active_eye_disease": "yes"})

    assert answer.found_problems
    assert answer.value is None
    assert len(study.assignments()) == 2
    assert "C900" in study.path("clients.csv").read_text()
    with pytest.raises(UserError, match="could not take part"):
        enrol(study, "C900", ANSWERS)


def test_answers_that_are_missing_or_impossible_are_refused_before_anything_is_saved(tmp_path):
    study = enrolled_study(tmp_path / "study", 1)
    before = study.path("clients.csv").read_bytes()
    incomplete = {k: v for k, v in ANSWERS.items() if k != "age_band"}

    with pytest.raises(UserError, match="Age band"):
        enrol(study, "C900", incomplete | {"contacts": "perhaps"})
    with pytest.raises(UserError, match="Client code"):
        enrol(study, "Maria", ANSWERS)

    assert study.path("clients.csv").read_bytes() == before
    assert len(study.assignments()) == 1


def test_nobody_is_enrolled_before_the_plan_is_locked(study):
    with pytest.raises(UserError, match="not locked"):
        enrol(study, "C101", ANSWERS)


def test_a_card_is_opened_by_the_next_run_when_a_crash_came_between(tmp_path, monkeypatch):
    study = enrolled_study(tmp_path / "study", 1)

    def crash(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(Study, "record", crash)
    with pytest.raises(KeyboardInterrupt):
        enrol(study, "C900", ANSWERS)
    monkeypatch.undo()

    assert enrol(study, "C900", ANSWERS).value is not None
    assert study.path("clients.csv").read_text().count("C900") == 1


def test_locking_is_refused_while_a_figure_of_her_own_is_asked_for(tmp_path):
    text = draft("machine-speed", "speed").replace('= ""\n', '= "written"\n')
    study = begin(tmp_path / "speed", text)
    lines = [n for n, line in enumerate(text.split("\n"), 1) if PLACEHOLDER in line]

    with pytest.raises(UserError) as caught:
        lock(study)

    assert f"line {lines[0]} and {lines[1]}" in caught.value.what
    assert "'Steps of way A' (form 2) and 'Steps of way B' (form 2)" in caught.value.what
    assert not study.path("allocation.csv").exists()
    study.path("plan.toml").write_text(text.replace(f" ({PLACEHOLDER})", ""), encoding="utf-8")
    assert lock(study).value is not None


@pytest.mark.parametrize("name", names())
def test_what_only_she_knows_is_always_marked_alike(name):
    """A second wording of the placeholder would be locked and printed."""
    text = draft(name, "study")
    assert "figure here" not in text.replace(PLACEHOLDER, "")
