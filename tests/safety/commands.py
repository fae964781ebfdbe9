"""Every command that writes, with a folder to run it in; all of it invented."""

import json
import shutil
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from scored import answers as invented_answers
from scored import photo, prepared, scored_study
from studies import ANSWERS, clock, enrolled_study, plan_text

from pmulab.demo.photographs import drawn_photos
from pmulab.stations.absent import absent
from pmulab.stations.amend import amend
from pmulab.stations.analyse import analyse
from pmulab.stations.chart import begin_practice, chart
from pmulab.stations.check import check
from pmulab.stations.demo import demo
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.lock import lock
from pmulab.stations.measure import measure
from pmulab.stations.new import new
from pmulab.stations.pack import pack
from pmulab.stations.photos import mark_photo, take_photo_bytes
from pmulab.stations.receive import receive
from pmulab.stations.register import register
from pmulab.stations.revise import revise
from pmulab.stations.rounds import rounds
from pmulab.stations.score_collect import collect_scores
from pmulab.stations.score_here import keep_scores
from pmulab.stations.score_prepare import Wishes, prepare_as_wished
from pmulab.stations.slides import slides
from pmulab.stations.strip import strip
from pmulab.stations.take_records import take_records
from pmulab.study import Study, begin

STUDY = "study"


@dataclass(frozen=True)
class Command:
    """A command: the folder it starts from, what it does, and what it says once it is done."""

    name: str
    base: str
    run: object
    finished: str = "(?!)"  # fits nothing


@cache
def _drawn():
    return drawn_photos()[0]


def _study(root, day=120):
    return Study(root / STUDY, clock(day))


def _put_answers(study, root):
    one = rounds(study)[-1]
    for code in ("R1", "R2"):
        (root / f"from-{code}.json").write_text(json.dumps(invented_answers(study, one, code)))


def _empty(_root):
    pass


def _begun(root):
    begin(root / STUDY, plan_text(planned=4), clock())


def _running(root):
    enrolled_study(root / STUDY, 3, planned=4)


def _full(root):
    enrolled_study(root / STUDY, 2, planned=2)
    absent(_study(root, 0), "C101", "moved away")


def _finished(root):
    scored_study(root / STUDY, clients=4)


def _round(root):
    study, _, _ = prepared(root / STUDY, clients=4)
    _put_answers(study, root)


def _photos(root):
    enrolled_study(root / STUDY, 3, planned=4)
    study = _study(root)
    drawn = _drawn()
    take_photo_bytes(study, drawn.jpeg, drawn.code)
    mark_photo(study, drawn.code, drawn.marks)


def _analysed(root):
    scored_study(root / STUDY, clients=6, photos=False)
    analyse(_study(root))
    shutil.copy(root / STUDY / "records.xlsx", root / "filled.xlsx")


def _shared(root):
    _analysed(root)
    slides(_study(root))
    (root / "group").mkdir()


def _looking(root):
    text = plan_text(planned=6).replace("[promises]", "[analysis]\nlooks = [4]\n[promises]")
    scored_study(root / STUDY, clients=4, photos=False, text=text)


def _corrected(root):
    _analysed(root)
    path = root / STUDY / "plan.toml"
    path.write_text(path.read_text().replace("A published data set", "A published set"))


BASES = {
    "empty": _empty, "begun": _begun, "running": _running, "full": _full, "finished": _finished,
    "round": _round, "photos": _photos, "analysed": _analysed, "shared": _shared,
    "looking": _looking, "corrected": _corrected,
}  # fmt: skip


def _register(root, day):
    return register(_study(root, day), root / "group")


def _keep(root):
    study = _study(root)
    content = json.loads((root / "from-R1.json").read_text())
    return keep_scores(study, 1, content)


def _collect(root):
    return collect_scores(_study(root), [root / "from-R1.json", root / "from-R2.json"])


def _photo(root):
    return take_photo_bytes(_study(root), photo(), "P7")


def _mark(root):
    drawn = _drawn()
    other = {name: value for name, value in drawn.marks.items() if name != "grey"}
    return mark_photo(_study(root), drawn.code, other)


COMMANDS = (
    Command("new", "empty", lambda r: new(r / STUDY, "wipe-material"), "already a study"),
    Command("revise", "begun", lambda r: revise(_study(r), {"study.title": "Another"})),
    Command("lock", "begun", lambda r: lock(_study(r, 0)), "was locked on"),
    Command("enrol", "running", lambda r: enrol(_study(r, 0), "C900", ANSWERS), "was enrolled"),
    Command(
        "enrol, not eligible", "running",
        lambda r: enrol(_study(r, 0), "C900", ANSWERS | {"active_eye_disease": "yes"}),
        "could not take part",
    ),
    Command(
        "enrol --replacement", "full",
        lambda r: enrol(_study(r, 0), "C900", ANSWERS, replacement="for C101, who moved"),
        "was enrolled",
    ),
    Command("absent", "running", lambda r: absent(_study(r), "C102", "moved away")),
    Command("check", "finished", lambda r: check(_study(r))),
    Command("score prepare", "finished", lambda r: prepare_as_wished(_study(r), Wishes(seed=7)),
            "No photo is left"),
    Command("score (notebook)", "round", _keep),
    Command("score collect", "round", _collect, "was collected"),
    Command("strip", "begun", lambda r: strip(_study(r))),
    Command("photo", "running", _photo, "already there"),
    Command("photo, marking", "photos", _mark),
    Command("measure", "photos", lambda r: measure(_study(r))),
    Command("analyse", "finished", lambda r: analyse(_study(r))),
    Command("analyse --look", "looking", lambda r: analyse(_study(r), look=True),
            "allows no look"),
    Command("analyse --unplanned", "looking",
            lambda r: analyse(_study(r), unplanned="a question of the insurer")),
    Command("analyse --stopped", "looking", lambda r: analyse(_study(r), stopped="harm")),
    Command("amend", "corrected", lambda r: amend(_study(r), "a slip in the title"),
            "Nothing was changed"),
    Command("handout", "analysed", lambda r: handout(_study(r))),
    Command("slides", "shared", lambda r: slides(_study(r), made_by="another studio")),
    Command("pack", "analysed", lambda r: pack(_study(r))),
    Command("pack --to", "analysed", lambda r: pack(_study(r), r / "our.zip"), "already there"),
    Command("register", "shared", lambda r: _register(r, 0)),
    Command("records taken in", "analysed",
            lambda r: take_records(_study(r), r / "filled.xlsx")),
    Command("file received", "running", lambda r: receive(_study(r), "a.csv", b"a,b\n1,2\n")),
    Command("chart --begin", "empty", lambda r: begin_practice(r / "practice"), "already there"),
    Command("chart", "empty", lambda r: chart(r / "demo-practice")),
    Command("demo", "empty", lambda r: demo(r / STUDY), "not empty"),
)  # fmt: skip


def build(base, root):
    """Make the folder that a command starts from."""
    Path(root).mkdir(parents=True)
    BASES[base](Path(root))
    return Path(root)
