"""Each attack of the table is met with the words that stand there, in time and without a trace."""

import subprocess
import sys
from pathlib import Path

import pytest

from hostile.attacks import ATTACKS, HERE, met

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", ATTACKS)
def test_an_attack_is_met_in_words(name, tmp_path):
    assert ATTACKS[name].words in met(ATTACKS[name], tmp_path)


def test_the_table_of_attacks_is_the_present_one():
    table = (HERE / "attacks.md").read_text(encoding="utf-8")
    told = [line.split("|")[1].strip() for line in table.splitlines() if line.startswith("| ")]

    assert told[1:] == list(ATTACKS)


LARGEST_PHOTO = """
import resource, sys
from io import BytesIO
from PIL import Image
from pmulab.photo.reading import MOST_PIXELS, clean_jpeg
side = int(MOST_PIXELS ** 0.5)
data = BytesIO()
Image.new(sys.argv[1], (side, side)).save(data, "PNG", compress_level=1)
clean_jpeg(data.getvalue())
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
def test_the_largest_photo_that_is_let_in_takes_less_than_a_gigabyte(mode):
    ran = subprocess.run(
        [sys.executable, "-c", LARGEST_PHOTO, mode],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=True,
    )  # fmt: skip

    assert int(ran.stdout) * 1024 < 1_000_000_000
