"""A pack as a file: a Data Package in a zip archive, the same contents giving the same bytes.

The descriptor follows the Data Package standard (https://datapackage.org/standard/data-package/),
its tables the Table Schema; what is our own stands under the key `pmulab`.
"""

import json
from dataclasses import asdict
from hashlib import sha256
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from pmulab import __version__
from pmulab.counting import counted
from pmulab.packs.model import DESCRIPTOR, FINDINGS, FORMAT, ITEMS, PLAN, Contents
from pmulab.packs.model import study_fingerprint as fingerprint_of
from pmulab.tables.fields import Table
from pmulab.tables.schema import schema_of
from pmulab.tables.templates import csv_text

_BEGINNING = (1980, 1, 1, 0, 0, 0)
"""Zip archives carry a time; ours tell none."""

_TOLD = frozenset(
    {"name", "title", "type", "trueValues", "falseValues", "constraints", "unit", "anchors"}
)
_TITLES = {
    PLAN: "The plan, as locked",
    FINDINGS: "Adverse events first, then every number of the analysis",
    ITEMS: "What a report has to tell",
}


def pack_bytes(contents: Contents) -> bytes:
    """Write a pack.

    Parameters
    ----------
    contents : Contents

    Returns
    -------
    bytes
        Of a zip archive.
    """
    files = pack_files(contents)
    buffer = BytesIO()
    with ZipFile(buffer, "w", ZIP_DEFLATED) as archive:
        for name, data in files.items():
            entry = ZipInfo(name, _BEGINNING)
            entry.compress_type = ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return buffer.getvalue()


def pack_files(contents: Contents) -> dict[str, bytes]:
    """Write the files of a pack, the descriptor first.

    Parameters
    ----------
    contents : Contents

    Returns
    -------
    dict of str to bytes
    """
    findings = asdict(contents.findings)
    findings.pop("plan")
    parts: dict[str, bytes] = {
        PLAN: _json(contents.findings.plan.to_dict()),
        FINDINGS: _json({"safety": findings.pop("safety"), **findings}),
        ITEMS: _json(list(contents.items)),
    }
    for name, table in contents.tables.items():
        parts[f"{name}.csv"] = csv_text(table, contents.frames[name]).encode()
    return {DESCRIPTOR: _json(_descriptor(contents, parts)), **parts}


def _descriptor(contents: Contents, parts: dict[str, bytes]) -> dict[str, Any]:
    findings, study = contents.findings, contents.findings.plan.study
    provenance = findings.provenance
    invented = " INVENTED DATA: no such clients exist." if study.invented else ""
    return {
        "profile": "data-package",
        "name": study.code,
        "title": study.title,
        "description": f"{study.question} De-identified numbers of "
        f"{counted(contents.clients, 'client')} for a study group. "
        f"A studio's own comparison, not medical or product advice.{invented}",
        "created": f"{contents.made}T00:00:00Z",
        "resources": [_resource(contents, name, data) for name, data in parts.items()],
        "pmulab": {
            "format": FORMAT,
            "software": f"pmulab {__version__}",
            "label": contents.label,
            "study": fingerprint_of(provenance.plan, provenance.allocation),
            "plan": provenance.plan,
            "allocation": provenance.allocation,
            "clients": contents.clients,
            "left_out": contents.left_out,
            "withheld": list(contents.withheld),
            "plan_withheld": list(contents.plan_withheld),
            "rows_withheld": contents.rows_withheld,
        },
    }


def _resource(contents: Contents, name: str, data: bytes) -> dict[str, Any]:
    stem = name.partition(".")[0]
    known = {"path": name, "bytes": len(data), "hash": f"sha256:{sha256(data).hexdigest()}"}
    if stem not in contents.tables:
        return {"name": stem, "title": _TITLES[name], "format": "json"} | known
    table = contents.tables[stem]
    return {
        "name": stem,
        "title": table.title,
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        **known,
        "schema": _schema(table),
    }


def _schema(table: Table) -> dict[str, Any]:
    """Give the schema without what only helps to fill a table in."""
    schema = schema_of(table)
    fields = [{k: v for k, v in field.items() if k in _TOLD} for field in schema["fields"]]
    return schema | {"fields": fields}


def _json(data: Any) -> bytes:
    return (json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()
