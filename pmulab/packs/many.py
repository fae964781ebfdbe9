"""Many packs: found, read on all processors, the bad ones set aside with their reason."""

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

from pmulab.errors import UserError
from pmulab.findings.pooled import Reported, SetAside
from pmulab.packs.model import ENDING
from pmulab.packs.reading import read_pack
from pmulab.plan import Arm, Arms, Promises

ALONE = 300
"""Up to so many packs one process is quicker than several."""
_CHUNK = 64

Taken = Reported | SetAside
Progress = Callable[[Iterable[Taken], int], Iterable[Taken]]


def find_packs(places: Sequence[str | Path]) -> list[Path]:
    """Name the packs in files and folders.

    Parameters
    ----------
    places : sequence of path-like
        Packs, or folders that hold some, at most one level deeper.

    Returns
    -------
    list of Path
        In the order given, folders by name; each file once.

    Raises
    ------
    UserError
        If a place is not there.
    """
    found: dict[Path, None] = {}
    for given in places:
        place = Path(given).expanduser()
        if place.is_dir():
            found |= dict.fromkeys(_inside(place))
        elif place.exists() or place.is_symlink():
            found[place] = None
        else:
            raise UserError(f"{place} is not there.", "Name packs (*.zip) or a folder with packs.")
    return list(found)


def _inside(folder: Path) -> Iterator[Path]:
    for pattern in (f"*{ENDING}", f"*/*{ENDING}"):
        yield from (path for path in sorted(folder.glob(pattern)) if path.name[0] != ".")


def read_packs(
    paths: Sequence[Path], progress: Progress = lambda items, _: items
) -> tuple[list[Reported], list[SetAside]]:
    """Read packs; a bad one is set aside with its reason, and the rest goes on.

    Parameters
    ----------
    paths : sequence of Path
    progress : callable, optional
        Given the results as they come and how many there will be; hands them on.

    Returns
    -------
    tuple of (list of Reported, list of SetAside)
        In the order of the paths.
    """
    good: list[Reported] = []
    bad: list[SetAside] = []
    for one in progress(_read(paths), len(paths)):
        if isinstance(one, Reported):
            good.append(one)
        else:
            bad.append(one)
    return good, bad


def _read(paths: Sequence[Path]) -> Iterator[Taken]:
    workers = os.cpu_count() or 1
    if len(paths) <= ALONE or workers < 2:
        yield from map(_taken, paths)
        return
    # Spawned, not forked: a notebook has threads, and a fork of them may hang.
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        yield from pool.map(_taken, paths, chunksize=_CHUNK)


def _light(pack: Reported) -> Reported:
    """Leave behind what pooling never reads: of ten thousand packs it would fill the memory."""
    plan = pack.findings.plan
    arms = Arms(Arm(plan.arms.A.label), Arm(plan.arms.B.label))
    kept = replace(plan, arms=arms, secondary=(), promises=Promises())
    return replace(pack, findings=replace(pack.findings, plan=kept))


def _taken(path: Path) -> Taken:
    try:
        return _light(read_pack(path))
    except UserError as error:
        return SetAside(path.name, error.what.removeprefix(f"{path.name}: "))
    except Exception as error:  # whatever a stranger's file does, the others are read
        return SetAside(path.name, f"could not be read ({type(error).__name__}).")
