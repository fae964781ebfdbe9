"""Slides: written from current findings only, and never over slides that somebody edited."""

import re
from io import BytesIO
from zipfile import ZipFile

import pytest
from pptx import Presentation
from studies import paired_study

from pmulab.errors import UserError
from pmulab.stations.analyse import analyse
from pmulab.stations.slides import slides
from pmulab.study import Study

A = [5.0, 6.0, 7.0, 8.0, 5.5, 6.5, 7.5, 8.5]
B = [8.0, 9.5, 10.0, 10.5, 8.0, 10.0, 10.0, 12.0]


@pytest.fixture
def study(tmp_path):
    made = paired_study(tmp_path / "study", A, B)
    analyse(made)
    return made


def test_page_and_file_are_written_and_told(study):
    answer = slides(study, "Group <North>")

    assert [path.name for path in answer.files] == ["slides.html", "slides.pptx"]
    assert "Group &lt;North&gt;" in answer.value.read_text()
    assert len(Presentation(answer.files[1]).slides) == 8
    assert study.journal()[-1].event == "slides written"
    assert not study.tampering()


def test_no_client_code_stands_on_a_slide(study):
    page, file = slides(study).files
    codes = {one.client_code for one in study.assignments()}
    with ZipFile(BytesIO(file.read_bytes())) as parts:
        told = page.read_text() + "".join(
            parts.read(name).decode() for name in parts.namelist() if name.endswith(".xml")
        )

    assert codes
    assert not codes & set(re.findall(r"\bC\d{3}\b", told))


def test_nothing_is_shown_before_the_analysis(tmp_path):
    made = paired_study(tmp_path / "study", A, B)

    with pytest.raises(UserError, match="Nothing was analysed"):
        slides(made)


def test_stale_findings_are_refused(study):
    rows = "client_code,session_no,event,signed_by\nC101,2,x,P1\n"
    study.path("events.csv").write_text(rows)

    with pytest.raises(UserError, match="records were changed"):
        slides(study)
    assert not study.path("slides.html").exists()


@pytest.mark.parametrize("name", ["slides.pptx", "slides.html"])
def test_edited_slides_are_never_written_over(study, name):
    slides(study)
    assert slides(study).value.exists()
    before = {one: study.path(one).read_bytes() for one in ("slides.html", "slides.pptx")}
    before[name] += b" "
    study.path(name).write_bytes(before[name])

    with pytest.raises(UserError, match="never overwritten") as refused:
        slides(study)

    assert "another name" in refused.value.remedy
    assert all(study.path(one).read_bytes() == content for one, content in before.items())
    study.path(name).unlink()
    assert slides(Study(study.folder)).value.exists()
