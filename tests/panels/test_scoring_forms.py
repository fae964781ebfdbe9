"""The forms of notebook 03, without a browser."""

import json
from datetime import UTC, datetime

import pytest
from scored import answers, prepared, scored_study

import pmulab
from pmulab import panels
from pmulab.errors import UserError
from pmulab.panels.scorer import Scorer
from pmulab.stations.rounds import rounds
from pmulab.stations.score_here import keep_scores, round_picture, score_here, take_scores
from pmulab.study import Study


@pytest.fixture
def ready(here):
    prepared("study", clients=2)
    return "study"


@pytest.fixture
def sheet(ready):
    form = panels.ScorePhotos(ready)
    form.inputs["assessor"].value = "r2"
    form.inputs["operator"].value = "no"
    form.press()
    return form, form.sheet.children[0]


def content(study, **given):
    return answers(Study(study), rounds(Study(study))[0], **given)


def upload(form, *files):
    form._upload.value = tuple(
        {"name": name, "type": "", "size": len(data), "content": memoryview(data),
         "last_modified": datetime.now(UTC)}
        for name, data in files
    )  # fmt: skip


def test_a_round_is_prepared_by_the_shown_line(here):
    scored_study("study", clients=2)
    form = panels.PrepareRound("study")
    form.inputs["repeats"].value = 0.5

    assert str(form.call()) == "prepare_scoring(study='study', repeats=0.5)"
    form.press()
    assert "Round 1 is ready: 4 photos of 2 clients, 2 of them shown twice" in form.said.value
    assert "repeats=0.5" in form.line.value
    assert form._progress.value == form._progress.max == 4


def test_photos_to_put_right_are_listed(here):
    study = scored_study("study", clients=2)
    (study.path("healed-photos") / "IMG_1.jpg").write_bytes(b"x")
    form = panels.PrepareRound("study")
    form._button.click()

    assert "IMG_1.jpg" in form.said.value
    assert "pmulab-look" in form.said.value


def test_every_answer_is_on_the_disk_at_once_and_comes_back(ready, sheet):
    form, scorer = sheet
    assert isinstance(scorer, Scorer)
    given = dict(scorer.answers)
    first = scorer.round["photos"][0]
    given["photos"] = {first: {"retention_grade": "3"}}
    scorer.heard(scorer, {"save": given}, [])

    assert Study(ready).path("scoring/round-01/answers/R2.json").exists()
    again = score_here(ready, "R2", False).value
    assert again["answers"]["photos"] == {first: {"retention_grade": "3"}}
    assert "score_here(study=&#x27;study&#x27;, assessor=&#x27;r2&#x27;" in form.line.value


def test_the_form_shows_one_picture_at_a_time(sheet, monkeypatch):
    _, scorer = sheet
    sent = []
    monkeypatch.setattr(scorer, "send", lambda content, buffers: sent.append((content, buffers)))
    scorer.heard(scorer, {"picture": scorer.round["photos"][0]}, [])
    scorer.heard(scorer, {"picture": f"{scorer.round['pairs'][0]}-2"}, [])
    scorer.heard(scorer, {"something": "else"}, [])

    assert [each[1][0][:2] for each in sent] == [b"\xff\xd8", b"\xff\xd8"]


@pytest.mark.parametrize("name", ["../key", "P1", "D1-1", ""])
def test_no_other_file_can_be_asked_for(ready, name):
    with pytest.raises(UserError, match="no picture"):
        round_picture(ready, 1, name)


def test_an_answer_that_cannot_be_is_told_and_not_kept(ready, sheet):
    form, scorer = sheet
    scorer.heard(scorer, {"save": dict(scorer.answers) | {"assessor": "../x"}}, [])

    assert "no assessor code" in form.said.value
    assert not Study(ready).path("scoring/round-01/answers").exists()


@pytest.mark.parametrize(
    ("assessor", "operator", "told"), [("Anna", "no", "no assessor code"), ("R1", "", "not said")]
)
def test_who_scores_has_to_be_said(ready, assessor, operator, told):
    form = panels.ScorePhotos(ready)
    form.inputs["assessor"].value, form.inputs["operator"].value = assessor, operator
    form._button.click()

    assert told in form.said.value
    assert form.sheet.children == ()


def test_files_are_taken_in_and_the_key_is_opened_after_a_confirmation(ready):
    form = panels.CollectScores(ready)
    one, two = (json.dumps(content(ready, assessor=who)).encode() for who in ("R1", "R2"))
    upload(form, ("a.json", one), ("b.json", two))
    assert "answers of R1" in form.said.value
    assert "answers of R2" in form.said.value
    form._button.click()
    assert "not confirmed" in form.said.value
    form.inputs["done"].value = True
    line = str(form.call())
    form.press()

    assert line == "collect_scores(study='study', number=1)"
    assert "No arm is shown" in form.said.value
    assert rounds(Study(ready))[0].opened is not None
    assert "No round waits" in panels.CollectScores(ready)._fields.children[0].value
    for verb in ("prepare_scoring", "collect_scores", "score_here", "agreement"):
        assert callable(getattr(pmulab, verb))


def test_a_file_that_is_no_answer_is_told(ready):
    form = panels.CollectScores(ready)
    upload(form, ("x.json", b"<script>alert(1)</script>"))

    assert "cannot be read as a file of answers" in form.said.value
    assert "<script>" not in form.said.value


def test_a_second_file_of_the_same_code_overwrites_nothing(ready):
    first = json.dumps(content(ready)).encode()
    take_scores(ready, "a.json", first)
    take_scores(ready, "a.json", first)
    with pytest.raises(UserError, match="other answers of R1"):
        take_scores(ready, "b.json", json.dumps(content(ready, pairs={})).encode())

    assert Study(ready).path("scoring/round-01/answers/R1.json").read_bytes() == first


def test_nothing_is_kept_once_the_key_is_open(ready):
    take_scores(ready, "a.json", json.dumps(content(ready)).encode())
    pmulab.collect_scores(ready)
    for step in (
        lambda: keep_scores(ready, 1, content(ready, assessor="R9")),
        lambda: take_scores(ready, "a.json", json.dumps(content(ready)).encode(), 1),
        lambda: score_here(ready, "R9", False, 1),
    ):
        with pytest.raises(UserError, match="may know the arms"):
            step()
