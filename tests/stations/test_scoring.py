"""A scoring round from the photos to the healed table, and everything it refuses."""

import csv
import json
import shutil
from dataclasses import replace

import pytest
from PIL import Image
from scored import DAY, answers, photo, prepared, put_photos, saved, scored_study
from studies import ANSWERS, HEALED, clock, code_of, plan_text

from pmulab import disk
from pmulab.errors import UserError
from pmulab.findings import Findings, read_findings
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check, records_of
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.rounds import rounds
from pmulab.stations.score_collect import collect_scores
from pmulab.stations.score_prepare import prepare_scoring
from pmulab.stations.scoring_found import agreement
from pmulab.study import Study, begin

NO_PHOTOS = {"consent_share_photos": "no"}


@pytest.fixture
def ready(tmp_path):
    return prepared(tmp_path / "study")


def said(answer):
    return "\n".join(answer.lines)


def three(study, one, place, **given):
    return [saved(place, answers(study, one, assessor, **given)) for assessor in ("R1", "R2", "R3")]


def test_the_whole_circle(ready, tmp_path):
    study, one, key = ready
    kept = {showing.photo: 5 + n % 4 for n, showing in enumerate(key.showings)}
    files = [
        saved(tmp_path, answers(study, one, who, kept=lambda showing: kept[showing.photo]))
        for who in ("R1", "R2")
    ]
    before = {path: path.read_bytes() for path in study.path("healed-photos").iterdir()}
    answer = collect_scores(study, files)
    records, report = records_of(study)

    assert not answer.found_problems
    assert not report.blocks
    rows = records.healed[records.healed["look_no"] == 1]
    assert len(rows) == 2 * 12
    for row in rows.itertuples():
        assert row.segments_kept == kept[row.client_code, row.side, 1]
        assert (row.seen, row.blinded, row.rater_is_operator) == ("photo_only", True, False)
        assert str(row.healed_date)[:10] == DAY
        assert row.photo_code in {s.code for s in key.showings if s.client_code == row.client_code}
    assert (records.healed["look_no"] == 2).sum() == 2 * 3
    assert {path: path.read_bytes() for path in before} == before


def test_a_round_is_a_folder_of_its_own_and_stands_in_the_journal(ready):
    study, one, key = ready
    names = {path.name for path in study.path(one.folder).iterdir()}

    assert names == {"key.json", "round.json", "photos", "score-round-01.html"}
    events = [entry.event for entry in study.journal()]
    assert events[-2:] == ["scoring round begun", "scoring round prepared"]
    assert study.tampering() == ()
    assert not list(study.path("scoring").glob(".*"))
    assert len({one.code for one in key.showings}) == 12 + 3


def test_a_second_round_takes_new_photos_only_and_leaves_the_first(ready):
    study, one, _ = ready
    before = {p: p.read_bytes() for p in study.path(one.folder).rglob("*") if p.is_file()}
    with pytest.raises(UserError, match="No photo is left") as told:
        prepare_scoring(study)
    assert "--again" in told.value.remedy
    prepare_scoring(study, again=True)

    assert [each.number for each in rounds(study)] == [1, 2]
    assert {p: p.read_bytes() for p in before} == before


def test_photos_from_another_folder(tmp_path):
    study = scored_study(tmp_path / "study", photos=False)
    other = tmp_path / "camera"
    shutil.move(put_photos(study, ["C101_L_1", "C101_R_1"]), other)

    assert "2 photos of 1 client," in said(prepare_scoring(study, other))
    with pytest.raises(UserError, match="no folder"):
        prepare_scoring(study, tmp_path / "nowhere")


def test_the_day_may_come_from_the_camera(tmp_path):
    study = scored_study(tmp_path / "study", photos=False)
    put_photos(study, ["C101_L_1"], ending=".jpg")
    prepare_scoring(study)
    one = rounds(study)[0]

    assert {showing.day for showing in one.key(study).showings} == {DAY}


def test_every_photo_that_has_to_be_put_right_is_told_at_once(tmp_path):
    study = scored_study(tmp_path / "study", photos=False)
    place = put_photos(study, ["C101_L_1", "IMG_0007"])
    put_photos(study, ["C101_L_1"], ending=".png")
    Image.new("RGB", (20, 20)).save(place / "C102_L_1.png")
    (place / "notes.txt").write_text("left alone")
    (place / ".hidden.jpg").write_text("left alone")
    answer = prepare_scoring(study)

    assert answer.found_problems
    assert answer.value is None
    assert {one["file"] for one in answer.data["problems"]} == {
        f"IMG_0007_{DAY}.jpg", f"C101_L_1_{DAY}.jpg", "C102_L_1.png"
    }  # fmt: skip
    assert not study.path("scoring").exists()
    assert not rounds(study)


@pytest.mark.parametrize("data", [b"", b"no photo", b"\xff\xd8\xff\xe0 cut", photo()[:400]])
def test_a_photo_that_cannot_be_read_stops_the_round(tmp_path, data):
    study = scored_study(tmp_path / "study")
    (study.path("healed-photos") / f"C101_L_1_{DAY}.jpg").write_bytes(data)
    answer = prepare_scoring(study)

    assert [one["file"] for one in answer.data["problems"]] == [f"C101_L_1_{DAY}.jpg"]
    assert not study.path("scoring").exists()


def test_a_client_who_did_not_agree_to_photos_is_left_out_and_said(tmp_path):
    study = scored_study(tmp_path / "study", clients=2, consent=NO_PHOTOS)
    with pytest.raises(UserError, match="No photo is left") as told:
        prepare_scoring(study)

    assert "consent_share_photos" in told.value.remedy
    assert "C101 L visit 1" in told.value.remedy


def test_consent_is_asked_client_by_client(tmp_path):
    study = scored_study(tmp_path / "study", clients=2, planned=4)
    early = Study(study.folder, clock())
    enrol(early, code_of(3), ANSWERS | NO_PHOTOS)
    put_photos(study, ["C103_L_1"])
    answer = prepare_scoring(study)

    assert "C103" in said(answer)
    key = rounds(study)[0].key(study)
    assert {one.client_code for one in key.showings} == {"C101", "C102"}


def rewrite_clients(study, **changed):
    path = study.path("clients.csv")
    rows = list(csv.DictReader(path.read_text().splitlines()))
    for row in rows[:1]:
        row.update(changed)
    with path.open("w", newline="") as out:
        writer = csv.DictWriter(out, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)


@pytest.mark.parametrize(
    ("names", "ending", "told"),
    [
        (["C999_L_1"], f"_{DAY}.jpg", "no card was opened"),
        (["C101_L_1"], "_2026-01-20.jpg", "taken before day 28"),
        (["C101_L_1"], "_2025-12-20.jpg", "taken before day 28"),
    ],
)
def test_photos_that_cannot_be_scored_are_left_out_with_their_reason(tmp_path, names, ending, told):
    study = scored_study(tmp_path / "study", clients=2, photos=False)
    put_photos(study, ["C102_R_1"])
    put_photos(study, names, ending)
    answer = prepare_scoring(study)

    assert told in said(answer)
    assert {one.client_code for one in rounds(study)[0].key(study).showings} == {"C102"}


def test_who_took_back_her_consent_is_left_out_and_her_scores_too(tmp_path):
    study, one, _ = prepared(tmp_path / "study")
    collect_scores(study, three(study, one, tmp_path))
    before = agreement(study).value
    rewrite_clients(study, consent_withdrawn="2026-04-01")
    after = agreement(study).value

    assert (before.clients, after.clients) == (6, 5)
    assert "took back" in said(prepare_scoring(study, again=True))


def test_nothing_is_prepared_before_the_plan_is_locked(tmp_path):
    study = begin(tmp_path / "study", plan_text(), clock())
    with pytest.raises(UserError, match="not locked"):
        prepare_scoring(study)


def test_photos_are_not_mirrored_where_that_is_not_wanted(tmp_path):
    study = scored_study(tmp_path / "study")

    assert "may see which side" in said(prepare_scoring(study, mirror=False))


def test_clients_against_clients_are_not_set_side_by_side(tmp_path):
    study = scored_study(tmp_path / "study", design="parallel")
    prepare_scoring(study)

    assert rounds(study)[0].key(study).pairs == ()


def test_progress_is_told_photo_by_photo(tmp_path):
    study = scored_study(tmp_path / "study", clients=3)
    told = []
    prepare_scoring(study, progress=lambda done, of: told.append((done, of)))

    assert told == [(n, 6) for n in range(7)]


def test_a_crash_while_writing_leaves_no_half_round(tmp_path, monkeypatch):
    study = scored_study(tmp_path / "study", clients=3)
    monkeypatch.setattr(disk.os, "rename", lambda *_: (_ for _ in ()).throw(OSError(28)))
    with pytest.raises(UserError, match="could not be read or written"):
        prepare_scoring(study)
    monkeypatch.undo()

    assert list(study.path("scoring").iterdir()) == []
    assert rounds(study) == ()
    prepare_scoring(study)
    assert [one.number for one in rounds(study)] == [2]
    assert study.tampering() == ()


def test_answers_of_another_round_open_nothing(ready, tmp_path):
    study, one, _ = ready
    prepare_scoring(study, again=True)
    with pytest.raises(UserError, match="another round"):
        collect_scores(study, [saved(tmp_path, answers(study, rounds(study)[1]))], 1)

    assert not any(entry.event == "scoring key opened" for entry in study.journal())
    assert not study.path(f"{one.folder}/answers").exists()


def test_open_answers_keep_the_key_sealed_until_they_are_taken_as_they_are(ready, tmp_path):
    study, one, _ = ready
    content = answers(study, one)
    content["photos"].popitem()
    path = saved(tmp_path, content)
    with pytest.raises(UserError, match=r"R1 \(from-R1.json\): 1 open"):
        collect_scores(study, [path])
    assert not any(entry.event == "scoring key opened" for entry in study.journal())

    collect_scores(study, [path], unfinished=True)
    assert len(records_of(study)[0].healed) == 14


def test_a_photo_that_cannot_be_judged_is_missing_with_its_reason(ready, tmp_path):
    study, one, key = ready
    content = answers(study, one)
    first = next(showing for showing in key.showings if showing.look == 1)
    content["photos"][first.code] = {"photo_quality": "blurred"}
    collect_scores(study, [saved(tmp_path, content)])
    healed = records_of(study)[0].healed
    (row,) = healed[healed["photo_code"] == first.code].itertuples()

    assert row.photo_quality == "blurred"
    assert str(row.segments_kept) == "<NA>"
    assert not check(study).value.blocks


def test_the_key_is_opened_once(ready, tmp_path):
    study, one, _ = ready
    collect_scores(study, [saved(tmp_path, answers(study, one))])
    rows = study.path(one.healed).read_bytes()
    with pytest.raises(UserError, match="may know the arms"):
        collect_scores(study, [saved(tmp_path, answers(study, one, "R9"))], 1)

    assert study.path(one.healed).read_bytes() == rows
    assert [e.event for e in study.journal()].count("scoring key opened") == 1
    assert not study.path(one.answers("R9")).exists()


def test_without_answers_there_is_nothing_to_collect(ready):
    with pytest.raises(UserError, match="no answers to round 1"):
        collect_scores(ready[0])
    with pytest.raises(UserError, match="no scoring round 7"):
        collect_scores(ready[0], number=7)


def test_without_a_round_there_is_nothing_to_collect(tmp_path):
    study = scored_study(tmp_path / "study", photos=False)
    with pytest.raises(UserError, match="no scoring round"):
        collect_scores(study)
    assert "No scoring round was collected" in said(agreement(study))


def test_a_crash_after_opening_is_finished_by_the_next_run(ready, tmp_path, monkeypatch):
    study, one, _ = ready
    files = three(study, one, tmp_path)
    with monkeypatch.context() as patch:
        patch.setattr(Study, "keep", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            collect_scores(study, files)
    assert not study.path(one.healed).exists()
    collect_scores(study)

    assert study.path(one.healed).exists()
    assert study.tampering() == ()
    assert [e.event for e in study.journal()].count("scoring key opened") == 1


def test_typed_values_are_never_overwritten_a_clash_is_a_problem(tmp_path):
    study, one, _ = prepared(tmp_path / "study")
    typed = HEALED | {
        "client_code": "C101", "side": "L", "rater_code": "R1", "healed_date": DAY,
        "segments_kept": "2",
    }  # fmt: skip
    path = study.path("healed.csv")
    path.write_text(",".join(typed) + "\n" + ",".join(typed.values()) + "\n")
    before = path.read_bytes()
    answer = collect_scores(study, [saved(tmp_path, answers(study, one))])

    assert answer.found_problems
    assert "differ from rows that were typed" in said(answer)
    problems = [p for p in check(study).value.problems if p.code == "files_disagree"]
    assert "segments_kept" in {p.column for p in problems}
    assert {p.file for p in problems} == {"healed-round-01.csv"}
    assert path.read_bytes() == before


@pytest.mark.parametrize("name", ["key.json", "round.json"])
def test_a_changed_round_is_noticed(ready, name):
    study, one, _ = ready
    path = study.path(f"{one.folder}/{name}")
    path.write_text(path.read_text() + " ")

    assert any(name in told for told in study.tampering())


def test_pictures_may_be_deleted_once_they_were_scored(ready, tmp_path):
    """Or when a client takes back her consent: nothing but the pictures is lost."""
    study, one, _ = ready
    files = three(study, one, tmp_path)
    study.path(one.page).unlink()
    shutil.rmtree(study.path(f"{one.folder}/photos"))
    shutil.rmtree(study.path("healed-photos"))
    collect_scores(study, files)

    assert study.tampering() == ()
    assert agreement(study).value.assessors == ("R1", "R2", "R3")


def test_changed_scores_are_noticed_and_said_on_every_output(ready, tmp_path):
    study, one, _ = ready
    collect_scores(study, three(study, one, tmp_path))
    path = study.path(one.healed)
    path.write_text(path.read_text().replace("photo_only", "seen"))

    assert any(path.name in told for told in study.tampering())
    assert "Changed outside pmulab" in said(agreement(study))


def test_no_arm_is_shown_before_the_end(tmp_path):
    study, one, _ = prepared(tmp_path / "study", clients=4, planned=8)
    answer = collect_scores(study, three(study, one, tmp_path))

    for label in ("way one", "way two"):
        assert label not in json.dumps(answer.to_dict())
    assert answer.value.kept_more is None
    assert agreement(study).value.kept_more is None


def healed_outcome(tmp_path, clients=10):
    """A study whose main outcome is the blind score itself."""
    text = plan_text(
        name="segments_kept", table="healed", unit="segments of 10", kind="count",
        worthwhile=1.0, low=0.0, high=10.0, step=1.0, planned=clients,
    ).replace('better = "lower"', 'better = "higher"\njudged = "blind"')  # fmt: skip
    lost = {"seen": "lost", "segments_kept": "NA_lost"}
    study = scored_study(tmp_path / "study", clients, text=text, healed=lost)
    prepare_scoring(study)
    one = rounds(study)[0]
    arms = {
        (card.client_code, side): card.slot.arm_of(side)
        for card in study.assignments()
        for side in "LR"
    }
    return study, one, arms


def test_blind_scores_are_the_outcome_that_is_analysed(tmp_path):
    study, one, arms = healed_outcome(tmp_path)

    def kept(showing):
        number = int(showing.client_code[1:]) % 5
        return 3 + number + 2 * (arms[showing.client_code, showing.side] == "A")

    collect_scores(study, three(study, one, tmp_path, kept=kept))
    found = analyse(study, stopped="").value

    assert isinstance(found, Findings)
    assert found.primary.difference.value == 2
    assert found.scoring.kept_more is not None
    assert read_findings(found.to_json()) == found


def test_who_could_tell_the_ways_apart_was_not_blind(tmp_path):
    study, one, arms = healed_outcome(tmp_path)
    key = one.key(study)
    told = {s.code: arms[s.client_code, s.side] for s in key.showings}
    collect_scores(study, three(study, one, tmp_path, guesses=told))
    found = analyse(study).value

    assert found.scoring.told_apart
    assert any("could tell which way" in why for why in found.primary.verdict.reasons)
    page = handout(study).value.read_text()
    assert "The blinding did not hold" in page
    assert page.index("The blinding did not hold") < page.index('id="finding"')


def test_poor_agreement_is_said_before_any_effect(tmp_path):
    study, one, _ = healed_outcome(tmp_path)
    files = [
        saved(tmp_path, answers(study, one, who, kept=lambda s, n=n: (int(s.code[1:]) * n) % 11))
        for who, n in (("R1", 3), ("R2", 7))
    ]
    collect_scores(study, files)
    answer = analyse(study)
    words = said(answer)
    page = handout(study).value.read_text()

    assert words.index("Poor agreement on segments kept") < words.index("Main outcome.")
    assert page.index("Poor agreement on segments kept") < page.index('id="seen"')
    assert "those who scored it did not agree well" in answer.value.primary.verdict.reasons


def test_scores_after_the_arms_were_compared_are_told(tmp_path):
    study, one, _ = prepared(tmp_path / "study", clients=8)
    analyse(study)
    answer = collect_scores(study, three(study, one, tmp_path))

    assert answer.value.late
    assert "after the arms had been compared" in said(answer)
    with pytest.raises(UserError, match="records were changed"):
        handout(study)


def test_findings_of_older_releases_have_no_scoring(tmp_path):
    study, _, _ = prepared(tmp_path / "study", clients=8)
    found = analyse(study).value
    older = json.loads(found.to_json())
    assert older.pop("scoring") is None

    assert read_findings(json.dumps(older)) == replace(found, scoring=None)
