"""Published data sets go through the same door as a user's study and give the published figures.

Each is entered through the workbook of a locked, enrolled study folder; `analyse` reproduces the
printed figures, not only a function.
"""

import pytest
from studies import paired_study

from pmulab.stations.analyse import analyse
from pmulab.stations.check import check


def printed(text, value):
    """True when a value rounds to a printed figure."""
    digits = len(text.partition(".")[2])
    return round(value, digits) == pytest.approx(float(text), abs=1e-12)


@pytest.fixture
def findings_of(tmp_path):
    def run(a, b, **given):
        study = paired_study(tmp_path / "study", a, b, **given)
        report = check(study).value
        assert not report.blocks, report.to_text()
        return analyse(study).value

    return run


def test_boys_shoes(findings_of):
    """Box, Hunter & Hunter, Statistics for Experimenters (1978), Table 4.3; MASS `shoes`."""
    material_a = [13.2, 8.2, 10.9, 14.3, 10.7, 6.6, 9.5, 10.8, 8.8, 13.3]
    material_b = [14.0, 8.8, 11.2, 14.2, 11.8, 6.4, 9.8, 11.3, 9.3, 13.6]

    found = findings_of(
        material_a, material_b, name="wear", unit="mm", low=0.0, high=30.0, step=0.1
    ).primary

    t_form, t_test = found.other_forms["t"], found.other_tests["t"]
    assert printed("-0.41", t_form.value)
    assert printed("-3.349", t_test.statistic)
    assert t_test.df == 9
    assert printed("0.0085", t_test.p)
    assert printed("-0.687", t_form.interval.low)
    assert printed("-0.133", t_form.interval.high)
    assert found.other_tests["sign_flip"].p == pytest.approx(14 / 1024)  # full enumeration


def test_student_sleep(findings_of):
    """Student (1908), Biometrika 6:1-25; figures as R prints them for its data set `sleep`."""
    second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
    first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]

    found = findings_of(second, first, name="extra_sleep", unit="h", low=-24.0, high=24.0).primary

    t_form, t_test = found.other_forms["t"], found.other_tests["t"]
    assert printed("1.58", t_form.value)
    assert printed("4.0621", t_test.statistic)
    assert t_test.df == 9
    assert printed("0.002833", t_test.p)
    assert printed("0.7001", t_form.interval.low)
    assert printed("2.4599", t_form.interval.high)
    assert found.other_tests["sign_flip"].p == pytest.approx(4 / 1024)


def test_darwin_maize(findings_of):
    """Fisher (1935), The Design of Experiments, sections 17 and 21; eighths of an inch."""
    differences = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]

    found = findings_of(
        differences, [0] * 15, name="height", unit="eighths", kind="count", step=1.0,
        worthwhile=5,
    ).primary  # fmt: skip

    assert found.other_tests["sign_flip"].p == pytest.approx(1726 / 32768)
    assert printed("20.933", found.difference.value)
    assert printed("2.148", found.other_tests["t"].statistic)
    assert found.other_tests["t"].df == 14
    assert printed("0.0497", found.other_tests["t"].p)
