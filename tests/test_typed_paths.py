"""Paths in hints can be typed as they stand, whatever the folder is called."""

import shlex

import pytest

from pmulab.disk import typed


@pytest.mark.parametrize(
    "path", ["my-study", "my studies/damp wipe", "a (2)", "it's", 'a "b"', "price $5", "Größe/ä"]
)
def test_a_shell_reads_one_path(path):
    """Python's shlex reads as a POSIX shell does."""
    assert shlex.split(f"pmulab size {typed(path)}") == ["pmulab", "size", path]


def test_a_plain_path_stays_plain_and_a_space_takes_double_quotes():
    """Windows' command line knows no single quotes."""
    assert typed("my-study") == "my-study"
    assert typed(r"C:\Users\ann\study") == r"C:\Users\ann\study"
    assert typed("my studies") == '"my studies"'
