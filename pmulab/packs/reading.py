"""A pack read with distrust: fingerprints, versions, and whether rows and findings fit together."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from pmulab.disk import decoded
from pmulab.findings import Findings, read_findings
from pmulab.findings.pooled import Reported
from pmulab.packs.guards import ASK_AGAIN, opened_archive, refused
from pmulab.packs.model import (
    DESCRIPTOR,
    FILES,
    FINDINGS,
    FORMAT,
    LONGEST_LABEL,
    PLAN,
    TABLES,
    study_fingerprint,
)
from pmulab.packs.parts import json_part, table_part
from pmulab.packs.rows import believable, restored, row_marks
from pmulab.plan import fingerprint_of

_Hash = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
_Label = Annotated[str, StringConstraints(min_length=1, max_length=LONGEST_LABEL,
                                          pattern=r"^[^\x00-\x1f\x7f]+$")]  # fmt: skip
_Model = TypeVar("_Model", bound=BaseModel)


class _Own(BaseModel):
    """What stands under the key `pmulab` of a descriptor."""

    model_config = ConfigDict(extra="forbid", strict=True)

    format: Annotated[int, Field(ge=1)]
    software: Annotated[str, StringConstraints(max_length=80)]
    label: _Label
    study: _Hash
    plan: _Hash
    allocation: _Hash
    clients: Annotated[int, Field(ge=1, le=1000)]
    left_out: Annotated[int, Field(ge=0, le=1000)]
    withheld: list[str]
    plan_withheld: list[str]
    rows_withheld: bool = False


class _Resource(BaseModel):
    """What is checked of a file's entry in a descriptor."""

    model_config = ConfigDict(extra="ignore", strict=True)

    path: str
    bytes: int
    hash: str


class _Descriptor(BaseModel):
    """What is checked of a descriptor."""

    model_config = ConfigDict(extra="ignore", strict=True)

    created: Annotated[str, StringConstraints(pattern=r"^\d{4}-\d\d-\d\dT00:00:00Z$")]
    resources: list[_Resource]
    pmulab: _Own


@dataclass(frozen=True, slots=True)
class _Opened:
    """A pack whose files are what its descriptor says."""

    where: str
    parts: Mapping[str, bytes]
    descriptor: _Descriptor


def read_pack(path: str | Path) -> Reported:
    """Read a pack.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    Reported
        The primary outcome, with each client's values; exploratory outcomes are checked and
        marked for finding the same clients again, and then left behind.

    Raises
    ------
    UserError
        If anything about the pack is not as `pack` writes it.
    """
    place = Path(path)
    opened = _opened(place)
    own = opened.descriptor.pmulab
    findings = _findings(opened)
    _check_fingerprints(opened, findings)
    tables = {name: table_part(opened.parts, name, opened.where) for name in TABLES}
    _check_codes(opened, tables)
    whole = (
        believable(findings, opened.where)
        if own.rows_withheld
        else restored(findings, tables["differences"], opened.where)
    )
    return Reported(
        label=own.label,
        study=own.study,
        made=opened.descriptor.created[:10],
        findings=replace(whole, secondary=(), missing_values={}),
        left_out=own.left_out,
        source=place.name,
        rows=row_marks(whole.effects),
        rows_withheld=own.rows_withheld,
    )


def _opened(path: Path) -> _Opened:
    where = path.name
    parts = opened_archive(path)
    raw = json_part(parts, DESCRIPTOR, where)
    _check_version(raw, where)
    descriptor = _validated(_Descriptor, raw, where)
    named = {resource.path: resource for resource in descriptor.resources}
    if set(named) != FILES - {DESCRIPTOR} or len(named) != len(descriptor.resources):
        raise refused(where, f"{DESCRIPTOR} does not list the files of the pack once each.")
    for name, resource in named.items():
        data = parts[name]
        if resource.bytes != len(data) or resource.hash != f"sha256:{sha256(data).hexdigest()}":
            raise refused(where, f"{name} was changed after the pack was made.")
    return _Opened(where, parts, descriptor)


def _check_version(raw: Any, where: str) -> None:
    own = raw.get("pmulab") if isinstance(raw, dict) else None
    version = own.get("format") if isinstance(own, dict) else None
    if not isinstance(version, int):
        raise refused(where, "this is no pack of pmulab.", "Name a file that pack wrote.")
    if version > FORMAT:
        told = f"written by a later release (format {version}; this release reads {FORMAT})."
        raise refused(where, told, "Install a newer pmulab.")


def _validated(model: type[_Model], raw: Any, where: str) -> _Model:
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        place = ".".join(map(str, error.errors()[0]["loc"]))
        raise refused(where, f"{DESCRIPTOR} is not as pack writes it (at {place}).") from None


def _findings(opened: _Opened) -> Findings:
    where = f"{opened.where}, {FINDINGS} and {PLAN}"
    plan, found = (decoded(opened.parts[name], where).strip() for name in (PLAN, FINDINGS))
    if not found.startswith("{"):
        raise refused(opened.where, f"{FINDINGS} is not as pack writes it.")
    # Spliced as text, so that one validator reads both; anything ill-formed fails there.
    findings = read_findings(f'{found[:-1]},"plan":{plan}}}', where, ASK_AGAIN)
    if tuple(effect.outcome for effect in findings.effects) != findings.plan.outcomes:
        raise refused(opened.where, "the findings are of other outcomes than the plan's.")
    return findings


def _check_fingerprints(opened: _Opened, findings: Findings) -> None:
    own, provenance = opened.descriptor.pmulab, findings.provenance
    told = (own.plan, own.allocation, own.study)
    known = (
        provenance.plan,
        provenance.allocation,
        study_fingerprint(provenance.plan, provenance.allocation),
    )
    plan_fits = _plan_fingerprint(opened) == own.plan or bool(own.plan_withheld)
    if told != known or not plan_fits:
        raise refused(
            opened.where, "its fingerprints do not fit its plan: plan or findings were changed."
        )


def _plan_fingerprint(opened: _Opened) -> str:
    return fingerprint_of(json_part(opened.parts, PLAN, opened.where))


def _check_codes(opened: _Opened, tables: Mapping[str, list[list[str]]]) -> None:
    if any(rows[0][0] != "client_code" for rows in tables.values()):
        raise refused(opened.where, "a table does not begin with the client's code.")
    codes = {row[0] for row in tables["differences"][1:]}
    own = opened.descriptor.pmulab
    if len(codes) != (0 if own.rows_withheld else own.clients):
        raise refused(opened.where, "it does not hold the rows of as many clients as it says.")
    for name, (_, *rows) in tables.items():
        if not {row[0] for row in rows} <= codes:
            raise refused(opened.where, f"{name}.csv holds a client who is in no other table.")
