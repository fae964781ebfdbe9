"""The main outcome in parts of the clients: refused while parts are small, no p-value ever."""

import pytest
from studies import ANSWERS, code_of, enrolled_study, fill_workbook

from pmulab.errors import UserError
from pmulab.stations import enrol as enrolling
from pmulab.stations.analyse import analyse
from pmulab.stations.parts import parts


def analysed(tmp_path, clients):
    """A study whose odd clients are dark-skinned; way one is lower by 1, or 3 for them."""
    study = enrolled_study(tmp_path / "study", 0, planned=clients)
    for number in range(1, clients + 1):
        skin = "V" if number % 2 else "II"
        enrolling.enrol(study, code_of(number), ANSWERS | {"skin_type": skin})
    values = {}
    for number in range(1, clients + 1):
        effect = 3.0 if number % 2 else 1.0
        values[code_of(number), "A"] = 20.0 - effect + 0.1 * (number % 7)
        values[code_of(number), "B"] = 20.0 + 0.1 * (number % 5)
    fill_workbook(study, values)
    analyse(study)
    return study


def test_parts_of_fewer_than_twenty_pairs_are_refused(tmp_path):
    study = analysed(tmp_path, 8)

    found = parts(study, "skin_type")

    assert all(one.answer.value is None for one in found.value.parts)
    assert "not looked at alone" in str(found)
    assert found.value.between.value is None


def test_large_parts_are_told_with_the_difference_between_them(tmp_path):
    study = analysed(tmp_path, 40)

    found = parts(study, "skin_type")

    by_label = {one.label: one.answer.value for one in found.value.parts}
    assert by_label["II"] == pytest.approx(-1.0, abs=0.2)
    assert by_label["V"] == pytest.approx(-3.0, abs=0.2)
    assert found.value.between.value == pytest.approx(2.0, abs=0.3)
    assert "Exploratory" in str(found)
    assert "p =" not in str(found)


def test_clients_are_parted_by_what_was_known_before(tmp_path):
    study = analysed(tmp_path, 8)

    with pytest.raises(UserError, match="cannot be parted"):
        parts(study, "work_min")
    with pytest.raises(UserError, match="cannot be parted"):
        parts(study, "consent_record")
