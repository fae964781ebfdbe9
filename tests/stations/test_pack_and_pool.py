"""Pack, register and pool as commands: nothing lost, nothing overwritten, wrong use in words."""

import json
import subprocess
import sys
from datetime import UTC, datetime

import pytest
from studies import enrolled_study, paired_study

import pmulab
from pmulab.errors import UserError
from pmulab.packs.reading import read_pack
from pmulab.packs.register import read_register
from pmulab.stations.analyse import analyse
from pmulab.stations.group import demo_group, open_group
from pmulab.stations.new import new
from pmulab.stations.pack import pack
from pmulab.stations.pool import FINDINGS, REPORT, pool
from pmulab.stations.register import register
from pmulab.study import Study

A = [13.2, 8.2, 10.9, 14.3, 10.7, 6.6, 9.5, 10.8, 8.8, 13.3]
B = [14.0, 8.8, 11.2, 14.2, 11.8, 6.4, 9.8, 11.3, 9.3, 13.6]
SHOES = {"name": "wear", "unit": "mm", "low": 0.0, "high": 30.0, "step": 0.1}


@pytest.fixture
def finished(tmp_path):
    study = paired_study(tmp_path / "study", A, B, **SHOES)
    analyse(study)
    return study


@pytest.fixture
def shared(tmp_path):
    folder = tmp_path / "group"
    folder.mkdir()
    return folder


def test_a_study_goes_through_its_pack_into_the_pooled_report(finished, shared):
    """Boys' shoes (Box, Hunter & Hunter 1978): -0.41, error 0.1224, t interval -0.687 to -0.133."""
    register(finished, shared)
    pack(finished, shared / "shoes.zip", "Studio North")
    found = pool(shared, group=shared, as_of="2026-05-05")

    study = found.value.studies[0]
    assert (study.label, study.n) == ("Studio North", 10)
    assert round(study.value, 2) == -0.41
    assert round(study.error, 4) == 0.1224
    assert (round(study.interval.low, 3), round(study.interval.high, 3)) == (-0.687, -0.133)
    assert found.value.register[0].state == "finished"
    assert [path.name for path in found.files] == [REPORT, FINDINGS]
    assert all(path.parent == shared for path in found.files)


def test_a_preview_writes_nothing(finished):
    before = sorted(p.name for p in finished.folder.iterdir())
    answer = pack(finished, preview=True)

    assert answer.value is None
    assert "Nothing was written" in str(answer)
    assert "sessions.csv: 20 rows" in str(answer)
    assert sorted(p.name for p in finished.folder.iterdir()) == before


def test_a_pack_in_the_study_can_be_made_again_elsewhere_never_over_a_file(finished, tmp_path):
    first = pack(finished).value
    pack(finished)

    assert first.name == "pack.zip"
    assert finished.journal()[-1].event == "pack written"
    taken = tmp_path / "mine.zip"
    taken.write_text("my own")
    with pytest.raises(UserError, match="never overwritten"):
        pack(finished, taken)
    assert taken.read_text() == "my own"
    with pytest.raises(UserError, match="no name for a pack"):
        pack(finished, tmp_path / "pack.txt")
    with pytest.raises(UserError, match="could not be read or written"):
        pack(finished, tmp_path / "nowhere" / "pack.zip")


def test_a_pack_of_changed_records_is_refused(finished):
    path = finished.path("findings.json")
    path.write_text(path.read_text("utf-8") + " ", "utf-8")

    with pytest.raises(UserError, match="was changed after this analysis"):
        pack(finished)


def test_a_study_that_was_not_analysed_has_no_pack(tmp_path):
    with pytest.raises(UserError, match="Nothing was analysed"):
        pack(enrolled_study(tmp_path / "study", 2))


def test_a_stopped_study_is_packed_told_and_not_pooled(tmp_path, shared):
    study = paired_study(tmp_path / "study", A, B, **SHOES)
    register(study, shared)
    analyse(study, stopped="an infection; the client was very unhappy")
    assert "stopped" in str(register(study, shared))
    path = pack(study, shared / "stopped.zip").value
    found = pool(shared, group=shared, as_of="2026-05-05").value

    assert "unhappy" not in str(read_pack(path))
    assert found.studies == ()
    assert "stopped early" in found.set_aside[0].why
    assert found.register[0].state == "stopped"


def test_announcing_comes_after_locking(tmp_path, shared):
    new(tmp_path / "study", "wipe-material")

    with pytest.raises(UserError, match="not locked"):
        register(tmp_path / "study", shared)


def test_announcing_before_the_first_client_then_telling_news(tmp_path, shared):
    study = enrolled_study(tmp_path / "study", 0)
    answer = register(study, shared, due="2026-12-01")
    with pytest.raises(UserError, match="nothing new to tell"):
        register(study, shared)
    found = read_register(shared).entries[0]

    assert answer.value.parent.name == "register"
    assert (found.due, found.clients_then, found.planned) == ("2026-12-01", 0, 2)
    assert study.journal()[-1].event == "announced to the group"


def test_a_study_that_was_analysed_is_not_called_running(tmp_path, shared):
    study = paired_study(tmp_path / "study", A, B)
    register(study, shared)
    running = register(study, shared)
    analyse(study)
    analysed = register(study, shared)

    assert "Told the group: running, 10 clients so far." in str(running)
    assert "Told the group: analysed, 10 clients so far." in str(analysed)
    assert read_register(shared).entries[0].state == "analysed"


def test_two_studios_announce_the_same_question_word_for_word(tmp_path, shared):
    """One ready question, one text of the plan: cards of their own keep the studies apart."""
    north, south = (paired_study(tmp_path / name, A, B, **SHOES) for name in ("north", "south"))
    assert north.locked().fingerprint == south.locked().fingerprint
    files = {register(one, shared).value.name for one in (north, south)}
    entries = read_register(shared).entries

    assert len(files) == len({one.study for one in entries}) == 2
    assert len({one.code for one in entries}) == 1
    analyse(north)
    pack(north, shared / "north.zip")
    found = pool(shared, group=shared, as_of="2030-01-01").value
    assert sorted(one.state for one in found.register) == ["finished", "never reported"]
    assert len({one.code for one in found.register}) == 2
    assert all(one.code.endswith(f" ({one.study[:6]})") for one in found.register)


def test_announcing_late_is_allowed_and_stays_visible(tmp_path, shared):
    study = enrolled_study(tmp_path / "study", 3)
    answer = register(study, shared)
    news = register(study, shared)

    assert "3 clients had a card already" in str(answer)
    assert "running, 3 clients" in str(news)
    assert read_register(shared).entries[0].state == "running"


@pytest.mark.parametrize("due", ["soon", "2026-13-01", "01/03/2026"])
def test_a_day_that_is_none(tmp_path, shared, due):
    with pytest.raises(UserError, match="is no day"):
        register(enrolled_study(tmp_path / "study", 0), shared, due=due)
    assert list(shared.iterdir()) == []


def test_pooling_writes_over_its_own_report_only(finished, shared):
    pack(finished, shared / "a.zip")
    pool(shared, to=shared)
    pool(shared, to=shared)
    (shared / REPORT).write_text("<p>my own page</p>")

    with pytest.raises(UserError, match="no pooled report of pmulab"):
        pool(shared, to=shared)
    assert (shared / REPORT).read_text() == "<p>my own page</p>"


def test_pooling_nothing(tmp_path):
    with pytest.raises(UserError, match="No pack could be read"):
        pool(tmp_path)
    with pytest.raises(UserError, match="is not there"):
        pool(tmp_path / "nowhere.zip")
    (tmp_path / "bad.zip").write_bytes(b"hello")
    with pytest.raises(UserError, match=r"bad\.zip: this is no pack"):
        pool(tmp_path / "bad.zip")
    with pytest.raises(UserError, match="is no day"):
        pool(tmp_path, as_of="tomorrow")


@pytest.fixture(scope="module")
def invented(tmp_path_factory):
    place = tmp_path_factory.mktemp("lab") / "demo-group"
    return place, demo_group(place)


def test_the_invented_group_is_made_and_pooled(invented):
    place, answer = invented
    told = str(answer)

    assert told.startswith("INVENTED DATA")
    assert "5 of 6 registered studies are in; 1 never reported." in told
    assert "demo-quillet, 240 days overdue" in told
    assert len(answer.value.studies) == 5
    assert "6 files in the register, 5 packs" in str(open_group(place))
    with pytest.raises(UserError, match="is there already"):
        demo_group(place)


def test_a_group_folder_that_is_not_there_is_not_made_up(tmp_path):
    with pytest.raises(UserError, match="There is no folder"):
        open_group(tmp_path / "our-group")


def test_public_names_are_those_of_the_stations():
    assert pmulab.pack is pack
    assert pmulab.pool is pool
    assert pmulab.register is register
    assert pmulab.open_group is open_group


def command(*words):
    return subprocess.run(
        [sys.executable, "-c", "from pmulab.cli import main; main()", *map(str, words)],
        capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip


def test_the_commands_say_what_they_did(finished, shared):
    first = command("pack", finished.folder, "--preview")
    assert (first.returncode, "What leaves the studio" in first.stdout) == (0, True)
    made = command("pack", finished.folder, "--to", shared / "a.zip", "--made-by", "North")
    assert (made.returncode, "The pack is ready" in made.stdout) == (0, True)
    told = command("register", finished.folder, "--group", shared)
    assert (told.returncode, "Announced to the group" in told.stdout) == (0, True)
    pooled = command("pool", shared, "--group", shared, "--as-of", "2026-05-05", "--json")
    assert json.loads(pooled.stdout)["pooled"]["studies"][0]["label"] == "North"
    wrong = command("pool", shared / "nowhere")
    assert (wrong.returncode, "Traceback" in wrong.stderr) == (2, False)


def test_clock_of_the_study_dates_the_pack(finished, shared):
    finished = Study(finished.folder, lambda: datetime(2026, 6, 1, tzinfo=UTC))
    path = pack(finished, shared / "a.zip").value

    assert read_pack(path).made == "2026-06-01"
