"""How long a round of 12-megapixel photos takes; no time is asserted.

Six photos here; sixty took 21 s of processor time, shared out over the cores (`SIXTY=1`).
"""

import os
from io import BytesIO

import numpy as np
import pytest
from PIL import Image
from scored import DAY, scored_study

from pmulab.stations.score_prepare import prepare_scoring

pytestmark = pytest.mark.bench

CLIENTS = 30 if os.environ.get("SIXTY") else 3


def large_photo():
    """4,032 by 3,024 pixels, about as large a file as a phone makes of it."""
    rng = np.random.default_rng(1)
    blocks = np.kron(rng.integers(90, 220, (76, 101, 3)), np.ones((40, 40, 1)))[:3024, :4032]
    noisy = np.clip(blocks + rng.normal(0, 6, blocks.shape), 0, 255).astype(np.uint8)
    exif, target = Image.Exif(), BytesIO()
    exif[0x0112] = 6
    Image.fromarray(noisy).save(target, "JPEG", quality=92, exif=exif)
    return target.getvalue()


@pytest.mark.benchmark(group="a scoring round of 12-megapixel photos")
def test_prepare(benchmark, tmp_path):
    study = scored_study(tmp_path / "study", clients=CLIENTS, photos=False)
    data, place = large_photo(), study.path("healed-photos")
    place.mkdir()
    for card in study.assignments():
        for side in "LR":
            (place / f"{card.client_code}_{side}_1_{DAY}.jpg").write_bytes(data)

    answer = benchmark.pedantic(
        prepare_scoring, args=(study,), kwargs={"again": True}, rounds=1, iterations=1
    )

    assert answer.value.exists()
