"""A few clients far off on one side: the typical difference leads, the mean stands beside it."""

from studies import code_of, enrolled_study, fill_workbook

from pmulab.stations.analyse import analyse
from pmulab.stations.handout import handout
from pmulab.wording import details, finding

DIFFERENCES = [-1.1, -0.7, -1.4, -0.9, -1.2, -0.8, -1.0, -1.3, -0.6, 14.0]


def study_with(tmp_path, differences):
    study = enrolled_study(tmp_path / "study", len(differences))
    values = {}
    for number, difference in enumerate(differences, start=1):
        values[code_of(number), "A"] = 20.0 + difference
        values[code_of(number), "B"] = 20.0
    fill_workbook(study, values)
    return study


def test_the_typical_difference_leads_and_says_why(tmp_path):
    """Hodges & Lehmann (1963): the pseudo-median hardly moves with one wild value."""
    study = study_with(tmp_path, DIFFERENCES)

    found = analyse(study).value
    said = finding(found.primary, found.plan)
    beside = " ".join(details(found.primary, found.plan))

    assert found.primary.typical_leads
    assert -1.2 < found.primary.difference.value < -0.7
    assert found.primary.other_forms["mean"].value > 0
    assert "typically, over 10 clients" in said
    assert "the typical difference comes first" in beside
    assert "Average difference" in beside
    assert handout(study).value.exists()


def test_without_jumps_the_mean_leads(tmp_path):
    found = analyse(study_with(tmp_path, [*DIFFERENCES[:-1], -1.0])).value

    assert not found.primary.typical_leads
    assert "mean" not in found.primary.other_forms
    assert "on average over 10 clients" in finding(found.primary, found.plan)
