"""Harm of studies that are not counted with the others, in words."""

from collections.abc import Iterator

from pmulab.findings.pooled import PooledFindings
from pmulab.wording.safety import safety_lines


def elsewhere_lines(found: PooledFindings) -> Iterator[str]:
    """Tell the harm of every study that is not counted with the others, one line a study.

    Parameters
    ----------
    found : PooledFindings

    Yields
    ------
    str
        Its name, its own two ways, then its harm.
    """
    for one in found.other_harm:
        ways = f"{one.arms.A.label}; {one.arms.B.label}"
        yield (
            f"Not counted here: {one.label} ({one.question} Its ways: {ways}). "
            f"{' '.join(safety_lines(one.safety, one))}"
        )
