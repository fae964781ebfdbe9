"""A killed command leaves the old file or the new one, and the next run goes on.

The full form, with every command, is `python -m safety.crash`; its table is measured_crashes.md.
"""

import random

import pytest
from safety.commands import COMMANDS
from safety.trials import Trial, whole_trial

pytestmark = pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
NAMED = {one.name: one for one in COMMANDS}
QUICK = ("new", "lock", "enrol", "enrol --replacement", "absent", "photo", "register")


@pytest.mark.parametrize("name", [*QUICK, "chart --begin", "score collect", "amend"])
def test_a_killed_command_loses_nothing_and_goes_on(tmp_path, name):
    tally = whole_trial(
        NAMED[name], tmp_path / "trial", random.Random(5), lambda _: 3, lambda _: 1
    )  # fmt: skip

    assert tally.kills >= 3
    assert tally.faults == []


@pytest.mark.parametrize("name", ["analyse --look", "slides"])
def test_what_a_kill_used_to_block_goes_on(tmp_path, name):
    """Killed between the two files, or between a look and what it shows, it once refused."""
    trial = Trial(NAMED[name], tmp_path / "trial")
    for number in range(5, trial.tally.points, 5):
        trial.at_point(number)

    assert trial.tally.faults == []
