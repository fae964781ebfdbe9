"""Published figures, recomputed: one TOML file a source, read by this one test.

Format of a file `<source>.toml`:

    citation = "Author (year). Title. Journal volume, pages."   # required, one source a file
    figures = "seen in ... / from memory, recomputed"           # required: where they come from

    [[check]]
    name = "sleep data, paired t"                               # required, names the test
    function = "pmulab.estimate.paired:t_mean_difference"       # module:callable
    inputs = { a = [0.7, -1.6], b = [1.9, 0.8] }                # keyword arguments
    where = "Table 3"                                           # optional
    note = "why a figure is read so"                            # optional
    [check.expected]                                            # printed figures, always strings
    value = "-1.58"                                             # an attribute of the answer
    "interval.low" = "-2.4598858"                               # a dotted path; also keys, indices
    p = "None"                                                  # the answer must be None here
    result = "0.95"                                             # the answer itself, a plain number
    "result.0" = ["0.01", "0.23"]                               # a list: element by element
    [check.tolerance]                                           # optional, needs a `note`
    value = 0.001

The tolerance is half a unit in the last printed digit: "0.070" accepts 0.0695 to 0.0705.
A function that turns an answer into what a table prints lives in `published_tables*.py` here.
"""

import importlib
import runpy
import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).parent


def checks() -> list[Any]:
    found = []
    for path in sorted(FOLDER.glob("*.toml")):
        source = tomllib.loads(path.read_text(encoding="utf-8"))
        assert source["citation"], path
        assert source["figures"], path
        for check in source["check"]:
            found.append(pytest.param(check, id=f"{path.stem}: {check['name']}"))
    return found


def named(function: str) -> Any:
    """The callable behind `module:name`; a module without a package is a file of this folder."""
    module, _, name = function.partition(":")
    if "." in module:
        return getattr(importlib.import_module(module), name)
    return names_in(module)[name]


@cache
def names_in(module: str) -> dict[str, Any]:
    return runpy.run_path(str(FOLDER / f"{module}.py"))


def half_unit(printed: str) -> float:
    """Half a unit in the last digit of a printed figure, exponent and all."""
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int), printed
    return float(Decimal(5).scaleb(exponent - 1))


def look_up(answer: Any, path: str) -> Any:
    for step in path.split("."):
        if step == "result":
            continue
        if isinstance(answer, dict):
            answer = answer[step]
        elif step.isdigit():
            answer = answer[int(step)]
        else:
            answer = getattr(answer, step)
    return answer


def compare(got: Any, printed: Any, tolerance: float | None, place: str) -> None:
    if isinstance(printed, list):
        assert len(got) == len(printed), place
        for position, (one, figure) in enumerate(zip(got, printed, strict=True)):
            compare(one, figure, tolerance, f"{place}.{position}")
    elif printed == "None":
        assert got is None, place
    else:
        allowed = half_unit(printed) if tolerance is None else tolerance
        rounding = 1e-9 * max(1.0, abs(float(printed))) * (allowed > 1e-9)
        assert abs(float(got) - float(printed)) <= allowed + rounding, (place, got, printed)


@pytest.mark.parametrize("check", checks())
def test_published_figure(check: dict[str, Any]) -> None:
    function = named(check["function"])
    tolerances = check.get("tolerance", {})
    assert not tolerances or check.get("note"), "a tolerance of its own needs a note that says why"

    answer = function(**check.get("inputs", {}))

    for path, printed in check["expected"].items():
        compare(look_up(answer, path), printed, tolerances.get(path), path)


def test_half_a_unit_follows_the_printed_digits() -> None:
    printed = ["0.070", ".9985", "24", "4.115e-05", "2.10000000000000E+01", "45"]

    assert [half_unit(p) for p in printed] == [5e-4, 5e-5, 0.5, 5e-9, 5e-14, 0.5]


def test_every_check_file_states_a_figure() -> None:
    for path in FOLDER.glob("*.toml"):
        for check in tomllib.loads(path.read_text(encoding="utf-8"))["check"]:
            assert check["expected"], (path.name, check["name"])
