"""The invented study group, made in a folder: its register and its packs."""

from dataclasses import asdict
from pathlib import Path

from pmulab.counting import counted
from pmulab.demo.group import AS_OF, Studio, studios
from pmulab.errors import UserError
from pmulab.findings.pooled import PooledFindings, Registered
from pmulab.folders import made_aside
from pmulab.packs.contents import Source, contents
from pmulab.packs.model import study_fingerprint
from pmulab.packs.register import announce
from pmulab.packs.writing import pack_bytes
from pmulab.sharing import checklists
from pmulab.stations.answer import Answer
from pmulab.stations.pool import pool
from pmulab.study import write_atomically

DEMO_GROUP = "demo-group"


def open_group(folder: str | Path = DEMO_GROUP) -> Answer[Path]:
    """Open a group's shared folder; one named 'demo-group' is made if it is not there.

    Parameters
    ----------
    folder : path-like, default='demo-group'

    Returns
    -------
    Answer
        Its value is the folder.

    Raises
    ------
    UserError
        If there is no such folder.
    """
    place = Path(folder).expanduser()
    if place.name == DEMO_GROUP and not place.exists():
        _make(place)
    if not place.is_dir():
        raise UserError(
            f"There is no folder {place}.", "Make the folder that your study group shares."
        )
    entries = len(list(place.glob("register/*.toml")))
    packs = len(list(place.glob("**/*.zip")))
    lines = [f"{place.name}: {counted(entries, 'file')} in the register, {counted(packs, 'pack')}."]
    if place.name == DEMO_GROUP:
        lines.append("Invented data: no such studios and no such clients exist.")
    return Answer(tuple(lines), place)


def demo_group(folder: str | Path) -> Answer[PooledFindings]:
    """Make the invented study group in a new folder, and pool what came in.

    Parameters
    ----------
    folder : path-like

    Returns
    -------
    Answer

    Raises
    ------
    UserError
        If the folder is there already.
    """
    place = Path(folder).expanduser()
    if place.exists():
        raise UserError(f"{place} is there already.", "Choose another name; nothing was changed.")
    _make(place)
    found = pool(place, group=place, as_of=AS_OF.isoformat())
    lines = ("INVENTED DATA: no such studios and no such clients exist.", *found.lines)
    return Answer(lines, found.value, found.files, found.data)


def _make(place: Path) -> None:
    try:
        with made_aside(place) as made:
            (made / "packs").mkdir(parents=True)
            for studio in studios():
                _put(made, studio)
    except UserError:
        if not place.is_dir():  # another notebook may have made it meanwhile
            raise


def _put(group: Path, studio: Studio) -> None:
    plan = studio.plan
    announce(
        group,
        Registered(
            code=plan.study.code,
            study=study_fingerprint(plan.fingerprint, studio.allocation),
            question=plan.study.question,
            primary=plan.primary.title,
            unit=plan.primary.unit,
            worthwhile=plan.primary.worthwhile,
            planned=plan.clients.planned,
            registered=studio.registered.isoformat(),
            due=studio.due.isoformat(),
        ),
    )
    if studio.findings is None or studio.records is None:
        return
    source = Source(studio.assignments, studio.records, studio.findings)
    told = contents(
        source, lambda found: [asdict(item) for item in checklists(found)], AS_OF, studio.label
    )
    write_atomically(group / "packs" / f"{plan.study.code}.zip", pack_bytes(told))
