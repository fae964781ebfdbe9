"""Packs of invented studios, whole and tampered with."""

import json
import zipfile
from dataclasses import asdict, replace
from datetime import date
from functools import cache
from hashlib import sha256
from io import BytesIO

from pmulab.demo.group import studios
from pmulab.findings.pooled import Reported
from pmulab.packs.contents import Source, contents
from pmulab.packs.model import DESCRIPTOR
from pmulab.packs.reading import read_pack
from pmulab.packs.writing import pack_bytes
from pmulab.sharing import checklists as items

MADE = date(2026, 9, 1)


@cache
def group():
    """The five invented studios that reported, by name."""
    return {studio.name: studio for studio in studios() if studio.findings is not None}


def told(name="Orvane", **changes):
    """What a studio's pack holds; `changes` replace parts of its source."""
    studio = group()[name]
    source = replace(Source(studio.assignments, studio.records, studio.findings), **changes)
    return contents(source, lambda found: [asdict(one) for one in items(found)], MADE, studio.label)


@cache
def packed(name="Orvane"):
    """The pack of a studio."""
    return pack_bytes(told(name))


def parts_of(data):
    """The files of a pack."""
    with zipfile.ZipFile(BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def zipped(parts, **how):
    """An archive of these files; no fingerprint is put right."""
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", how.pop("compression", zipfile.ZIP_DEFLATED)) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def resealed(parts):
    """The same files with sizes and fingerprints in the descriptor put right, as a forger would."""
    descriptor = json.loads(parts[DESCRIPTOR])
    for resource in descriptor["resources"]:
        data = parts[resource["path"]]
        resource["bytes"] = len(data)
        resource["hash"] = f"sha256:{sha256(data).hexdigest()}"
    return zipped({**parts, DESCRIPTOR: json.dumps(descriptor).encode()})


def forged(name, change, pack="Orvane"):
    """A pack in which the text of one file was changed and everything sealed again."""
    parts = parts_of(packed(pack))
    return resealed({**parts, name: change(parts[name].decode()).encode()})


def described(change, pack="Orvane"):
    """A pack whose descriptor was changed."""
    parts = parts_of(packed(pack))
    descriptor = json.loads(parts[DESCRIPTOR])
    change(descriptor)
    return zipped({**parts, DESCRIPTOR: json.dumps(descriptor).encode()})


@cache
def reported(name="Orvane") -> Reported:
    """A studio's study as it comes out of its pack."""
    from pathlib import Path
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.zip"
        path.write_bytes(packed(name))
        return read_pack(path)


def all_reported():
    """The five studies of the invented group, Orvane first."""
    return [reported(name) for name in group()]
