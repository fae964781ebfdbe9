"""Studies with healed photos to score, and what assessors answer; all of it invented."""

import json
from io import BytesIO

import numpy as np
from PIL import Image
from studies import ANSWERS, clock, code_of, fill_workbook, plan_text

from pmulab.stations.enrol import enrol
from pmulab.stations.lock import lock
from pmulab.stations.rounds import rounds
from pmulab.stations.score_prepare import prepare_scoring
from pmulab.study import Study, begin

DAY = "2026-02-20"
PHOTO_YES = {"consent_share_photos": "yes", "consent_share_photos_date": "2026-01-01"}
SECRETS = (b"Somebody", b"Phone 7", b"2026:02:20", b"secret note")


def photo(seed=0, **how):
    """A small photo whose file tells a person, a place, a device and a day."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0132], exif[0x013B] = "Phone 7", "2026:02:20 10:00:00", "Somebody"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (10.0, 20.0, 30.0)
    rng = np.random.default_rng(seed)
    blocks = np.kron(rng.integers(60, 230, (12, 18, 3)), np.ones((4, 4, 1))).astype(np.uint8)
    target = BytesIO()
    kind = how.pop("kind", "JPEG")
    more = {"comment": b"secret note"} if kind == "JPEG" else {}
    Image.fromarray(blocks).save(target, kind, exif=exif, **more, **how)
    return target.getvalue()


def scored_study(folder, clients=6, photos=True, consent=PHOTO_YES, text="", healed=None, **given):
    """A finished study with one photo of each eyelid; left against right if not said otherwise."""
    plan = text or plan_text(**({"planned": max(clients, 2)} | given))
    study = begin(folder, plan, clock())
    lock(study)
    for number in range(1, clients + 1):
        enrol(study, code_of(number), ANSWERS | consent)
    study = Study(folder, clock(120))
    values = {
        (code_of(n), arm): float(n % 4 + (arm == "B"))
        for n in range(1, clients + 1)
        for arm in ("A", "B")
    }
    fill_workbook(study, values, healed=healed)
    if photos:
        put_photos(study, [f"{code_of(n)}_{s}_1" for n in range(1, clients + 1) for s in "LR"])
    return study


def put_photos(study, names, ending=f"_{DAY}.jpg"):
    """Photos into the folder that is looked into by itself."""
    place = study.path("healed-photos")
    place.mkdir(exist_ok=True)
    for seed, name in enumerate(names):
        (place / f"{name}{ending}").write_bytes(photo(seed))
    return place


def prepared(folder, **given):
    """A study with a prepared round, the round and its opened key."""
    study = scored_study(folder, **given)
    prepare_scoring(study)
    one = rounds(study)[-1]
    return study, one, one.key(study)


def answers(study, one, assessor="R1", operator=False, kept=None, **changed):
    """The file of an assessor who saw `kept(showing)` segments, else six to eight."""
    key, public = one.key(study), one.public(study)
    seen = kept or (lambda showing: 6 + (ord(showing.client_code[-1]) + (showing.side == "L")) % 3)
    content = {
        "format": 1,
        "kind": "pmulab scores",
        "round": public["round"],
        "number": public["number"],
        "assessor": assessor,
        "operator": operator,
        "photos": {one.code: _photo(seen(one)) for one in key.showings},
        "pairs": {one.code: "same" for one in key.pairs},
        "guesses": {one.code: "no_idea" for one in key.showings},
    }
    return content | changed


def _photo(kept):
    return {
        "segments_kept": list(range(1, kept + 1)),
        "retention_grade": "3",
        "evenness_grade": "2",
        "migration": "no",
        "colour_shift": "none",
        "touchup_needed": "no" if kept > 6 else "yes",
    }


def saved(place, content, name=None):
    """An answer file as it came by post."""
    path = place / (name or f"from-{content['assessor']}.json")
    path.write_text(json.dumps(content))
    return path
