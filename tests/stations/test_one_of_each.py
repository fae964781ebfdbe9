"""Where there is one of a thing, it is said in the singular (English grammar)."""

import re

import pytest
from scored import put_photos, scored_study
from studies import code_of, enrolled_study

from pmulab.stations.group import open_group
from pmulab.stations.register import register
from pmulab.stations.rounds import rounds
from pmulab.stations.score_here import keep_scores, score_here
from pmulab.stations.score_prepare import prepare_scoring

WRONG = re.compile(
    r"(?<![\d.,])1 (clients|photos|answers|packs|files|eyelids|days|assessors|visits|were|are)\b"
)


def assert_singular(text):
    assert not WRONG.search(text), text


@pytest.fixture
def one(tmp_path):
    """A study with one client and one photo."""
    study = scored_study(tmp_path / "study", clients=1, photos=False)
    put_photos(study, [f"{code_of(1)}_L_1"])
    return study


def test_one_photo_is_scored(one):
    told = str(prepare_scoring(one, repeats=0))
    assert_singular(told)
    assert "1 photo of 1 client" in told

    shown = score_here(one, "R1", operator=False)
    assert_singular(str(shown))
    assert "1 photo, one at a time" in str(shown)
    kept = keep_scores(one, rounds(one)[-1].number, shown.value["answers"])
    assert_singular(str(kept))


def test_one_photo_has_to_be_put_right(tmp_path):
    study = enrolled_study(tmp_path / "study", 2)
    put_photos(study, ["holiday"])
    answer = prepare_scoring(study)

    assert answer.found_problems
    assert_singular(str(answer))
    assert "To be put right first: 1 photo." in str(answer)


def test_one_client_is_announced(one, tmp_path):
    shared = tmp_path / "group"
    shared.mkdir()
    told = str(register(one, shared))

    assert "Mind: 1 client had a card already" in told
    assert_singular(told)
    assert "1 file in the register, 0 packs" in str(open_group(shared))
    assert "running, 1 client so far" in str(register(one, shared))
