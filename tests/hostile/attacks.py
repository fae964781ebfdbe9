"""Hostile files, texts and names: what was tried, and what happened.

python -m tests.hostile.attacks      (from the checkout) writes attacks.md beside this file.

Packs have attacks of their own in tests/packs/test_attacks.py.
"""

import sys
import zipfile
import zlib
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "builders"))

from time_limit import within_seconds

from hostile import mutating
from hostile.reading import READERS
from pmulab.errors import UserError

HERE = Path(__file__).parent
SECONDS = 5


@dataclass(frozen=True, slots=True)
class Attack:
    """A file that is read.

    Parameters
    ----------
    kind : str
        Which reader of `hostile.reading` meets it.
    make : callable
        From the real file's bytes.
    words : str
        What the refusal, or a problem of the report, has to say.
    """

    kind: str
    make: object
    words: str


def met(attack, place):
    """Let the reader meet the file; give what it says."""
    reader = READERS[attack.kind]
    folder = place / "register" if attack.kind == "register entry" else place
    folder.mkdir(exist_ok=True)
    path = folder / reader.file
    path.write_bytes(attack.make(reader.examples()[0]))
    before = sorted(place.rglob("*"))
    with within_seconds(SECONDS):
        try:
            told = reader.read(path)
        except UserError as error:
            words = error.what
        else:
            problems = told if isinstance(told, list) else []
            asked = (one.what for one in problems if attack.words and attack.words in one.what)
            words = next(asked, f"read; {len(problems)} problems told")
    assert sorted(place.rglob("*")) == before, "something was written"
    return words.replace(f"{path}", path.name)


def png(width, height, data=b"", chunk=b""):
    """A PNG of this size with these bytes as its picture."""
    head = width.to_bytes(4, "big") + height.to_bytes(4, "big") + b"\x08\x06\0\0\0"
    parts = [(b"IHDR", head)]
    parts += [(b"zTXt", b"Comment\0\0" + zlib.compress(chunk))] if chunk else []
    parts += [(b"IDAT", data or zlib.compress(b"\0" * 1000)), (b"IEND", b"")]
    body = b"".join(
        len(d).to_bytes(4, "big") + n + d + zlib.crc32(n + d).to_bytes(4, "big") for n, d in parts
    )
    return b"\x89PNG\r\n\x1a\n" + body


def jpeg_of(width, height):
    """A JPEG whose head promises this size."""

    def made(data):
        at = data.index(b"\xff\xc0")
        return (
            data[: at + 5] + height.to_bytes(2, "big") + width.to_bytes(2, "big") + data[at + 9 :]
        )

    return made


def part(name, change):
    """A workbook in which one part was changed."""

    def made(data):
        parts = mutating.members(data)
        found = next(one for one in parts if one.endswith(name))
        parts[found] = change(parts[found])
        return mutating.archived(parts)

    return made


def added(name, content=b"x"):
    return lambda data: mutating.archived({**mutating.members(data), name: content})


def entities(text):
    bomb = (
        b'<!DOCTYPE a [<!ENTITY b "bbbbbbbb"><!ENTITY c "&b;&b;&b;&b;"><!ENTITY d "&c;&c;&c;&c;">]>'
    )
    head, mark, rest = text.partition(b"?>")
    return head + mark + bomb + rest


def many_parts(data):
    buffer = BytesIO(data)
    with zipfile.ZipFile(buffer, "a") as archive:
        for number in range(20_000):
            archive.writestr(zipfile.ZipInfo(f"xl/x{number}"), b"")
    return buffer.getvalue()


def lying(data):
    """A workbook whose list promises 100 bytes of a sheet that unpacks to many."""
    parts = mutating.members(data)
    name = next(one for one in parts if one.endswith("sheet1.xml"))
    out = bytearray(mutating.archived({**parts, name: parts[name] + b" " * 3_000_000}))
    at = out.rfind(name.encode())
    out[at - 22 : at - 18] = (100).to_bytes(4, "little")
    return bytes(out)


def cell(text):
    """A text table with this text as the note of its first row."""

    def made(data):
        rows = data.decode().splitlines()
        width, column = rows[0].count(","), rows[0].split(",").index("note")
        cells = [""] * (width + 1)
        cells[0], cells[column] = "C101", text
        return "\n".join([rows[0], ",".join(cells), ""]).encode()

    return made


def instead(old, new):
    def made(data):
        assert old in data, old
        return data.replace(old, new, 1)

    return made


def only(content):
    return lambda _data: content


DEEP = 100_000
ATTACKS = {
    "workbook: XML entity bomb": Attack("workbook", part("sheet1.xml", entities), "is damaged"),
    "workbook: entity bomb in UTF-16": Attack(
        "workbook", part("sheet1.xml", lambda text: entities(text).decode().encode("utf-16")),
        "is damaged",
    ),
    "workbook: entity that names a file": Attack(
        "workbook",
        part("workbook.xml", lambda text: text.replace(
            b"?>", b'?><!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]>', 1)),
        "is damaged",
    ),
    "workbook: decompression bomb": Attack(
        "workbook", added("xl/media/a.bin", b"0" * 60_000_000), "would unpack to"
    ),
    "workbook: bomb below the size limit": Attack(
        "workbook", added("xl/media/a.bin", b"0" * 45_000_000), "read; "
    ),
    "workbook: a size that lies": Attack("workbook", lying, "is damaged"),
    "workbook: 20,000 parts": Attack("workbook", many_parts, "read; "),
    "workbook: a part named ../../evil": Attack("workbook", added("../../evil.txt"), "read; "),
    "workbook: macros": Attack("workbook", added("xl/vbaProject.bin"), "holds macros"),
    "workbook: links to other files": Attack(
        "workbook", added("xl/externalLinks/externalLink1.xml"), "values from other files"
    ),
    "workbook: a cell a million rows away": Attack(
        "workbook",
        part("sheet4.xml", lambda text: text.replace(
            b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>')),
        "more than 20000 rows",
    ),
    "workbook: merged over all cells": Attack(
        "workbook",
        part("sheet4.xml", lambda text: text.replace(
            b"</sheetData>",
            b'</sheetData><mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>')),
        "is damaged",
    ),
    "table: a cell of 300,000 letters": Attack(
        "events table", cell("a" * 300_000), "quotation mark"
    ),
    "table: a bracket opened 60,000 times": Attack("events table", cell("(" * 60_000), "read; "),
    "table: NUL bytes": Attack("events table", cell("a\0b"), "bytes that no text has"),
    "table: an archive named .csv": Attack(
        "events table", only(b"PK\x03\x04" + b"0" * 99), "workbook or archive inside"
    ),
    "table: 100,000 columns": Attack(
        "events table", only(b"a," * 100_000 + b"a\n"), "No row with the column names"
    ),
    "plan: lists in lists without end": Attack(
        "plan", only(b"a = " + b"[" * DEEP), "line 1 is nested far too deep"
    ),
    "plan: dotted names without end": Attack(
        "plan", only(b".".join([b"a"] * 3_000) + b" = 1"), "line 1: nested deeper than 20"
    ),
    "plan: a number of 5,000 digits": Attack(
        "plan", instead(b"worthwhile =", b"extra = " + b"9" * 5_000 + b"\nworthwhile ="),
        "the number is far too large",
    ),
    "plan: a number of 5,000 hex digits": Attack(
        "plan", instead(b"worthwhile =", b"extra = 0x" + b"f" * 5_000 + b"\nworthwhile ="),
        "the number is far too large",
    ),
    "answers of a client: lists without end": Attack(
        "enrol answers", only(b"a = " + b"[" * DEEP), "line 1 is nested far too deep"
    ),
    "answers of an assessor: deep JSON": Attack(
        "score answers", only(b'{"photos":' * DEEP), "cannot be read as a file of answers"
    ),
    "answers of an assessor: an answer nobody offers": Attack(
        "score answers", instead(b'"no_idea"', b'"<script>alert(1)</script>"'), "is no answer"
    ),
    "answers of an assessor: a name instead of a code": Attack(
        "score answers", instead(b'"R1"', b'"../../R1"'), "is no assessor code"
    ),
    "answers of an assessor: far too large": Attack(
        "score answers", only(b" " * 2_000_001), "far smaller"
    ),
    "marks of a photo: deep JSON": Attack("photo marks", only(b"[" * 90_000), "it is not JSON"),
    "findings: deep JSON": Attack("findings", only(b"[" * DEEP), "cannot be read (at "),
    "journal: deep JSON": Attack(
        "journal", only(b'{"number": ' + b"[" * DEEP + b"\n"), "read; "
    ),
    "journal: deep JSON in another line": Attack(
        "journal", only(b"[" * DEEP + b"\n"), "line 1 cannot be read"
    ),
    "scoring key: deep JSON": Attack("scoring key", only(b"[" * DEEP), "changed or damaged"),
    "register: far too large": Attack(
        "register entry", only(b"#" * 20_001), "far too large"
    ),
    "register: lists without end": Attack(
        "register entry", only(b"a = " + b"[" * 10_000), "nested far too deep"
    ),
    "photo: a PNG that promises 10 gigapixels": Attack(
        "photo", only(png(100_000, 100_000)), "megapixels"
    ),
    "photo: a PNG that promises 100 megapixels": Attack(
        "photo", only(png(10_000, 10_000)), "megapixels"
    ),
    "photo: a JPEG that promises 4 gigapixels": Attack(
        "photo", jpeg_of(65_500, 65_500), "megapixels"
    ),
    "photo: a text of 100 MB packed into a PNG": Attack(
        "photo", only(png(8, 8, chunk=b"0" * 100_000_000)), "cannot be read as a photo"
    ),
    "photo: an SVG with a script": Attack(
        "photo", only(b'<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>'),
        "no JPEG, PNG or HEIC",
    ),
    "photo: a page description for a printer": Attack(
        "photo", only(b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n"), "no JPEG, PNG or HEIC"
    ),
    "photo: a TIFF": Attack("photo", only(b"II*\0\x08\0\0\0"), "no JPEG, PNG or HEIC"),
}  # fmt: skip


@cache
def happened():
    """What each attack met, in order."""
    found = {}
    for name, attack in ATTACKS.items():
        with TemporaryDirectory() as folder:
            found[name] = met(attack, Path(folder))
    return found


def table():
    """The table as it is committed."""
    rows = [f"| {name} | {_plain(words)} |" for name, words in happened().items()]
    return "\n".join([
        "# Attacks, and what happened",
        "",
        "`python -m tests.hostile.attacks`. Each was over within five seconds of computing and",
        "wrote nothing. Packs: `tests/packs/test_attacks.py`. Scripts in texts, tricks in names:",
        "`test_scripts.py` and `test_names.py` beside this file.",
        "",
        "| attack | what is said |",
        "|---|---|",
        *rows,
        "",
    ])  # fmt: skip


def _plain(words):
    words = " ".join(words.split()).replace("|", "/")
    return words if len(words) <= 120 else words[:117] + "..."


if __name__ == "__main__":
    (HERE / "attacks.md").write_text(table(), encoding="utf-8")
    print(table())
