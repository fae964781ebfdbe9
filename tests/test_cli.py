"""The commands: what they say, how they end, and that nobody ever sees a traceback."""

import json
import subprocess
import sys

import pytest
from scored import answers, saved, scored_study
from studies import ANSWERS, enrolled_study, paired_study, plan_text

from pmulab import cli
from pmulab.stations.rounds import rounds
from pmulab.study import begin


@pytest.fixture
def run(capsys, monkeypatch):
    def call(*words):
        monkeypatch.setattr(sys, "argv", ["pmulab", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out = capsys.readouterr()
        assert "Traceback" not in out.out + out.err
        return end.value.code or 0, out.out, out.err

    return call


def test_the_whole_job_by_commands(run, tmp_path):
    folder = tmp_path / "my study"
    code, out, _ = run("new", folder, "--question", "soothing-step")
    assert (code, "plan.toml" in out) == (0, True)

    code, _, err = run("lock", folder)
    assert (code, "promises" in err) == (2, True)

    plan = folder / "plan.toml"
    text = plan.read_text()
    for name in ("allowed_by", "later_use", "after_care", "sharing"):
        text = text.replace(f'{name} = ""', f'{name} = "settled"')
    plan.write_text(text)
    assert run("size", folder, "--sd", "1.0")[0] == 0
    assert run("lock", folder)[0] == 0
    answers = tmp_path / "answers.toml"
    asked = ANSWERS | {"study_exclusion": "no"}
    answers.write_text("\n".join(f'{name} = "{value}"' for name, value in asked.items()))
    code, out, _ = run("enrol", folder, "--client", "c101", "--answers", answers)
    assert (code, "Her card" in out) == (0, True)
    assert run("enrol", folder, "--client", "C101", "--answers", answers)[0] == 2
    code, out, _ = run(
        "enrol", folder, "--client", "C102", "--answers", answers,
        "--answer", "pregnant_or_nursing=yes",
    )  # fmt: skip
    assert (code, "no card was opened" in out) == (1, True)
    code, out, _ = run("analyse", folder)
    assert (code, "arms stay hidden" in out) == (0, True)
    assert run("handout", folder)[0] == 2
    assert run("slides", folder)[0] == 2


def test_a_practice_is_charted_by_commands(run, tmp_path):
    folder = tmp_path / "demo-practice"
    code, out, _ = run("chart", folder)
    assert (code, "Running sum (CUSUM): a sign" in out) == (0, True)
    assert json.loads(run("chart", folder, "--json")[1])["practice"]["clients"] == 24
    assert run("chart", tmp_path / "mine", "--begin")[0] == 0
    assert run("chart", tmp_path / "mine", "--begin")[0] == 2
    rows = (folder / "practice.csv").read_text().replace(",21,8,no", ",2100,8,no")
    (folder / "practice.csv").write_text(rows)
    assert run("chart", folder)[0] == 1


def test_problems_in_the_data_end_with_one(run, tmp_path):
    study = paired_study(tmp_path / "study", [5.0] * 7 + [5000.0], [6.0] * 8)

    code, out, _ = run("check", study.folder, "--json")

    assert code == 1
    report = json.loads(out)
    assert [one["column"] for one in report["problems"] if one["severity"][0] == "b"] == [
        "own_value"
    ]
    assert run("analyse", study.folder)[0] == 2


@pytest.mark.parametrize(
    "words",
    [
        ["nwe"],
        ["new"],
        ["check", "no-such-folder"],
        ["analyse", "no-such-folder"],
        ["handout", "no-such-folder"],
        ["slides", "no-such-folder"],
        ["chart", "no-such-folder"],
        ["lock", "no-such-folder"],
        ["size", "no-such-folder"],
        ["enrol", "no-such-folder", "--client", "C101"],
        ["size", "x", "--sd", "two"],
    ],
)
def test_wrong_use_ends_with_two_and_a_word(run, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*words)

    assert code == 2
    assert out + err


def test_a_surprise_is_told_without_a_traceback(run, tmp_path, monkeypatch):
    import pmulab.stations.size

    def surprise(*_, **__):
        raise RuntimeError("the moon is full")

    monkeypatch.setattr(pmulab.stations.size, "size", surprise)
    begin(tmp_path / "study", plan_text())

    code, _, err = run("size", tmp_path / "study")

    assert code == 2
    assert "the moon is full" in err
    assert "Nothing that you typed was overwritten" in err
    assert "as they were" not in err


def test_a_review_can_be_given_by_command(run, tmp_path):
    study = enrolled_study(tmp_path / "study", 1, planned=8)
    given = [word for pair in ANSWERS.items() for word in ("--answer", "=".join(pair))]
    words = ["enrol", study.folder, "--client", "C300", *given, "--reviewed", "Nobody (invented)"]

    code, _, err = run(*words)
    assert (code, "asks for a review" in err) == (2, True)


def test_photos_are_scored_by_command(run, tmp_path):
    study = scored_study(tmp_path / "study", clients=2)
    code, out, err = run("score", "prepare", study.folder, "--repeats", "0,5", "--no-mirror")
    assert (code, "4 photos of 2 clients, 2 of them shown twice" in out) == (0, True)
    assert "Photos" in err
    file = saved(tmp_path, answers(study, rounds(study)[0]))
    code, out, _ = run("score", "collect", study.folder, file, "--json")
    assert (code, json.loads(out)["round"]) == (0, 1)
    assert run("score", "collect", study.folder, file)[0] == 2
    (study.path("healed-photos") / "IMG_1.jpg").write_bytes(b"x")
    assert run("score", "prepare", study.folder, "--again")[0] == 1


def test_questions_are_listed(run):
    code, out, _ = run("questions")

    assert code == 0
    assert "wipe-material" in out


def test_help_loads_nothing_heavy():
    """A command imports its station inside itself."""
    heavy = (
        "{'numpy', 'pandas', 'scipy', 'matplotlib', 'IPython', 'pydantic_core'} & set(sys.modules)"
    )
    script = f"import sys, pmulab, pmulab.cli; print({heavy} - {{'pydantic_core'}})"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )

    assert done.stdout.strip() == "set()"


def test_numbers_may_have_a_decimal_comma(run, tmp_path):
    begin(tmp_path / "study", plan_text(worthwhile=2))

    assert run("size", tmp_path / "study", "--sd", "1,5")[0] == 0
    code, _, err = run("size", tmp_path / "study", "--sd", "two")
    assert (code, "is no number" in err) == (2, True)


def test_locking_lays_out_a_form_for_the_answers(run, tmp_path):
    begin(tmp_path / "study", plan_text())
    code, out, _ = run("lock", tmp_path / "study")
    form = tmp_path / "study" / "enrol-answers.toml"

    assert (code, "still the suggested value" in out) == (0, True)
    text = form.read_text()
    for name, value in ANSWERS.items():
        text = text.replace(f'{name} = ""', f'{name} = "{value}"')
    filled = tmp_path / "c101.toml"
    filled.write_text(text)
    assert run("enrol", tmp_path / "study", "--client", "C101", "--answers", filled)[0] == 0
    assert run("absent", tmp_path / "study", "--client", "C101", "--reason", "moved")[0] == 0


def test_size_takes_the_spread_of_an_earlier_study(run, tmp_path):
    study = paired_study(tmp_path / "old", [5.0, 6.0, 7.0, 8.0], [6.0, 8.5, 8.0, 9.0])
    begin(tmp_path / "new", plan_text())

    code, out, err = run("size", tmp_path / "new", "--earlier", study.folder)
    assert (code, "no findings" in err) == (2, True)

    assert run("analyse", study.folder)[0] == 0
    code, out, _ = run("size", tmp_path / "new", "--earlier", study.folder)
    assert (code, "seen in 4 clients" in out) == (0, True)


def test_curly_quotes_and_bare_words_are_read_as_they_were_meant(run, tmp_path):
    """Word processors curl quotes; common practice, no source."""
    begin(tmp_path / "study", plan_text())
    run("lock", tmp_path / "study")
    lines = [f'{name} = "{value}"' for name, value in ANSWERS.items()]
    lines = [
        line.replace('"no"', "no").replace('"yes"', "\u201cyes\u201d").replace('"30-39"', "30-39")
        for line in lines
    ]
    filled = tmp_path / "c101.toml"
    filled.write_text("\n".join(lines), encoding="utf-8")

    code, out, err = run("enrol", tmp_path / "study", "--client", "C101", "--answers", filled)

    assert (code, "C101 is enrolled" in out) == (0, True)
    assert 'was read as: consent_record = "yes"' in err
    assert 'age_band = "30-39"' in err
    filled.write_text('age_band = "30-39\n', encoding="utf-8")
    code, _, err = run("enrol", tmp_path / "study", "--client", "C102", "--answers", filled)
    assert (code, "straight quotes" in err) == (2, True)


def test_the_form_for_answers_explains_skin_types_and_vessels(run, tmp_path):
    begin(tmp_path / "study", plan_text())
    run("lock", tmp_path / "study")
    text = (tmp_path / "study" / "enrol-answers.toml").read_text(encoding="utf-8")
    for anchor in ("III burns sometimes, tans evenly", "faint: a few, seen only with a lens"):
        assert anchor in text


def test_a_missing_answer_is_named_once(run, tmp_path):
    begin(tmp_path / "study", plan_text())
    run("lock", tmp_path / "study")
    code, _, err = run("enrol", tmp_path / "study", "--client", "C101", "--answer", "contacts=no")
    assert code == 2
    assert err.count("'Blood thinner' is empty") == 1
