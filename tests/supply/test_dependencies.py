"""The packages that pmulab needs: all declared, none idle, each bounded and with its reason."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions, requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
RUNTIME = {canonicalize_name(one.name): one for one in map(Requirement, PROJECT["dependencies"])}
OPTIONAL = {
    canonicalize_name(Requirement(one).name) for one in PROJECT["optional-dependencies"]["heic"]
}
COMES_WITH = {
    "ipython": "ipywidgets",
    "jupyterlab-server": "jupyterlab",
    "markupsafe": "jinja2",
    "traitlets": "ipywidgets",
}
"""Parts of a declared package's own interface: what a widget is made of, and the like."""
STARTED = {"jupyterlab"}
"""Run as a program, not imported."""


def imported_names(path):
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
            yield node.module.partition(".")[0]


def imported_packages():
    """Give the distributions whose modules the kit imports, as the environment knows them."""
    known = packages_distributions()
    names = {name for path in (ROOT / "pmulab").rglob("*.py") for name in imported_names(path)}
    outside = names - sys.stdlib_module_names - {"pmulab"}
    return {canonicalize_name(one) for name in outside for one in known[name]}


def test_what_is_imported_is_declared():
    assert imported_packages() - OPTIONAL - set(COMES_WITH) <= set(RUNTIME)


@pytest.mark.parametrize(("name", "declared"), COMES_WITH.items())
def test_what_comes_with_another_really_does(name, declared):
    needed = {canonicalize_name(Requirement(one).name) for one in requires(declared)}

    assert name in needed
    assert declared in RUNTIME


def test_what_is_declared_is_used():
    assert set(RUNTIME) - imported_packages() == STARTED


@pytest.mark.parametrize("name", sorted(RUNTIME))
def test_bounded_on_both_sides(name):
    """A later major version may break the kit, an earlier one lacks what it uses."""
    operators = {one.operator for one in RUNTIME[name].specifier}

    assert operators == {">=", "<"}


@pytest.mark.parametrize("name", sorted(RUNTIME))
def test_its_reason_stands_in_the_guide(name):
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    section = guide.partition("## Runtime dependencies")[2].partition("\n## ")[0]

    assert re.search(rf"^\| {re.escape(name)} \| \S.+ \|$", section, re.MULTILINE)


def test_few():
    assert len(RUNTIME) <= 24
