"""Texts of a plan that look as if they told a person: said before others read them, never blocked.

The people and numbers are invented; that a name or a phone number identifies a person is from
GDPR, Article 4(1).
"""

import json
from zipfile import ZipFile

import pytest
from studies import ANSWERS, clock, code_of, fill_workbook, plan_text

from pmulab import panels
from pmulab.plan import read_plan
from pmulab.plan.telling import printed, telling
from pmulab.questions import draft, names
from pmulab.stations.analyse import analyse
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.lock import lock
from pmulab.stations.pack import pack
from pmulab.stations.preview import preview
from pmulab.stations.revise import revise
from pmulab.stations.size import size
from pmulab.stations.slides import slides
from pmulab.study import Study, begin

NAMED = {
    "A published data set": "Damp wipe, as Orla Quennell asked",
    "nobody was treated: published numbers": "call 030 5550147, orla@example.org",
}
TOLD = (
    "Mind: 'Title of the study (study.title)' in the plan: 'Quennell', 'Orla' look like a name. "
    "Handout or slides print it.",
    "Mind: 'Who allowed this comparison (promises.allowed_by)' in the plan: 'orla@example.org' "
    "looks like an e-mail address; '030 5550147' looks like a phone number; 'orla' looks like a "
    "name. Neither handout nor slides print it.",
)
CLIENTS = 8


def named_plan():
    written = plan_text(planned=CLIENTS)
    for before, after in NAMED.items():
        assert before in written
        written = written.replace(before, after)
    return written


@pytest.fixture
def study(tmp_path):
    return begin(tmp_path / "study", named_plan(), clock())


def finished(study, **further):
    for number in range(1, CLIENTS + 1):
        enrol(study, code_of(number), ANSWERS | further)
    done = Study(study.folder, clock(120))
    codes = [code_of(number) for number in range(1, CLIENTS + 1)]
    values = {(code, arm): float(n % 4 + 2 * (arm == "B"))
              for n, code in enumerate(codes) for arm in "AB"}  # fmt: skip
    fill_workbook(done, values)
    analyse(done)
    return done


def test_size_and_lock_and_all_that_is_handed_on_say_which_entry_it_is(study):
    said = [size(study).lines, lock(study).lines]
    done = finished(study)
    said += [step(done).lines for step in (preview, handout, slides)]

    for lines in said:
        assert [line for line in lines if line.startswith("Mind: '")] == list(TOLD)
        assert any(
            "No client's name, number or address may stand in a plan" in one for one in lines
        )
    assert handout(done, made_by="Studio Orla Quennell").lines == said[3]


def test_the_form_says_it_before_the_plan_is_locked(study):
    form = panels.Lock(str(study.folder))
    told = "".join(getattr(part, "value", "") for part in form._fields.children[:-1])

    assert "(study.title)&#x27; in the plan: &#x27;Quennell&#x27;, &#x27;Orla&#x27; look" in told
    form.inputs["read"].value = True
    form.press()
    assert Study(study.folder).locked() is not None


def test_the_pack_withholds_the_same_entries(study):
    lock(study)
    done = finished(study)
    pack(done, made_by="Studio")
    with ZipFile(done.path("pack.zip")) as archive:
        told = json.loads(archive.read("datapackage.json"))["pmulab"]["plan_withheld"]
        whole = "".join(archive.read(one).decode() for one in archive.namelist())

    assert told == list(telling(done.plan()))
    assert "Quennell" not in whole
    assert "orla@" not in whole


def test_a_ready_question_tells_of_nobody():
    for name in names():
        assert not telling(read_plan(draft(name, "own"), name)), name


def test_a_plan_without_such_texts_is_not_spoken_of(tmp_path):
    plain = begin(tmp_path / "study", plan_text(planned=CLIENTS), clock())

    assert not [line for line in lock(plain).lines if "look" in line and "like" in line]


def test_what_is_said_to_be_printed_is_printed_and_nothing_else(tmp_path):
    """Each text of a plan holds a word of its own, which is looked for on handout and slides."""
    study = begin(tmp_path / "study", plan_text(planned=CLIENTS), clock())
    plan = study.plan().to_dict()
    entries = [
        f"{part}.{name}"
        for part, names in (
            ("study", ("title", "question", "setting", "operator")),
            ("arms.A", ("label", "steps")),
            ("arms.B", ("label", "steps")),
            ("primary", ("title", "unit", "worthwhile_reason")),
            ("promises", [one for one in plan["promises"] if one != "cautions"]),
        )
        for name in names
    ]
    lists = ["promises.cautions", "clients.exclude", "primary.anchors"]
    words = {entry: f"Qx{number:02d}z" for number, entry in enumerate([*entries, *lists])}
    changes = {entry: [word] if entry in lists else word for entry, word in words.items()}
    revise(study, changes)
    lock(study)
    done = finished(study, study_exclusion="no")
    handout(done)
    slides(done)
    shown = "".join(done.path(name).read_text() for name in ("handout.html", "slides.html"))

    for entry, word in words.items():
        assert (word in shown) == printed(f"{entry}.1" if entry in lists else entry), entry
