"""Real files, damaged in the ways that disks, spreadsheets, editors and strangers damage them.

Every change is drawn from a seeded generator, so that a case can be made again by its number.
"""

import re
import zipfile
from io import BytesIO

NUMBERS = (
    b"0", b"-1", b"1e9", b"-1e308", b"1e999", b"9" * 30, b"9" * 5000, b"NaN", b"Infinity", b"0x41",
    b"1,5", b"1.5.2", b"2026-13-45", b"0001-01-01", b"9999-12-31", b"1900-02-29", b"2958466",
    b"-0.0", b"1_000", b"true", b"null", b'""', b"[]", b"{}", "٣".encode(), "½".encode(),
)  # fmt: skip
WORDS = (
    b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\r", b"\r\n", b"\n\n\n", b'"', b"'", b'"""', b",", b";",
    b"\t", b"=1+1", b"@x", b"<script>", b"&amp;", b"..", b"/", b"\\", b"\x1b[0m", b"\x85",
    "\u2028".encode(), "\u202e".encode(), "\ud7ff\ue000".encode(), b"\xed\xa0\x80", b"\\ud800",
    b"\xc3", b"{", b"}", b"[", b"]", b"[[", b"#", b"_x0000_", "é".encode("cp1252"), b"_x000D_",
    "e\u0301".encode(), "😀".encode(), b"NA_lost", b"yes", b"client_code", b"format = 99",
)  # fmt: skip
NESTS = (b"[", b'{"a":', b"a = [", b"[[a.", b"<a>", b'{"format":', b"(")
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_WORD = re.compile(rb"[A-Za-z_]{3,}")
_XML_VALUE = re.compile(rb'="([^"]*)"|<v>([^<]*)</v>|<t[^>]*>([^<]*)</t>')


def _place(rng, data):
    return rng.randrange(len(data) + 1)


def bits(rng, data):
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 8, 64))):
        if out:
            out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
    return bytes(out)


def cut(rng, data):
    return data[: _place(rng, data)]


def left_out(rng, data):
    at = _place(rng, data)
    return data[:at] + data[at + rng.choice((1, 3, 30, 300)) :]


def doubled(rng, data):
    at = _place(rng, data)
    chunk = data[at : at + rng.choice((1, 10, 100, 1000))]
    return data[:at] + chunk * rng.choice((2, 2, 3, 50)) + data[at + len(chunk) :]


def swapped(rng, data):
    spots = sorted(_place(rng, data) for _ in range(4))
    a, b, c, d = spots
    return data[:a] + data[c:d] + data[b:c] + data[a:b] + data[d:]


def inserted(rng, data):
    at = _place(rng, data)
    return data[:at] + rng.choice(WORDS) + data[at:]


def number(rng, data):
    return _replaced(rng, data, _NUMBER, rng.choice(NUMBERS))


def word(rng, data):
    other = rng.choice([*WORDS, *(found[0] for found in _WORD.finditer(data[:4000]))])
    return _replaced(rng, data, _WORD, other)


def nested(rng, data):
    at = _place(rng, data)
    return data[:at] + rng.choice(NESTS) * rng.choice((5, 100, 2000, 20_000)) + data[at:]


def lines(rng, data):
    rows = data.splitlines(keepends=True)
    if len(rows) > 1:
        one, other = rng.randrange(len(rows)), rng.randrange(len(rows))
        if rng.random() < 0.5:
            rows[one], rows[other] = rows[other], rows[one]
        else:
            rows[one : one + 1] = rng.choice(([], [rows[one]] * 2, [rows[other], rows[one]]))
    return b"".join(rows)


def encoded(rng, data):
    code = rng.choice(("utf-16", "utf-16-le", "utf-8-sig", "cp1252", "utf-32", "cp037"))
    return data.decode("utf-8", "replace").encode(code, "replace")


def nothing(rng, data):
    return rng.choice(
        (b"", b"\n", b" ", b"\0", b"\xef\xbb\xbf", b"{}", b"[]", b"null", b"PK\x03\x04")
    )


BYTES = (bits, cut, left_out, doubled, swapped, inserted)
TEXT = (*BYTES, number, number, word, word, nested, lines, lines, encoded, nothing)


def _replaced(rng, data, form, by):
    found = list(form.finditer(data))
    if not found:
        return data + by
    spot = rng.choice(found)
    return data[: spot.start()] + by + data[spot.end() :]


def text(rng, data):
    """Damage a text file in one to three ways."""
    return _several(rng, data, TEXT)


def binary(rng, data):
    """Damage any file in one to three ways."""
    return _several(rng, data, BYTES)


def _several(rng, data, ways):
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        data = rng.choice(ways)(rng, data)
    return data


def members(data):
    """The files of an archive."""
    with zipfile.ZipFile(BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def archived(parts):
    """An archive of these files, stored so that damage inside is not found by its unpacking."""
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return buffer.getvalue()


def xml_value(rng, data):
    """Put something else in place of an attribute, a cell's value or a text."""
    found = list(_XML_VALUE.finditer(data))
    if not found:
        return data
    spot = rng.choice(found)
    group = next(n for n in (1, 2, 3) if spot[n] is not None)
    by = rng.choice(
        (*NUMBERS[:10], *NUMBERS[12:17], b"", b"&#0;", b"&x;", b"_x0000_", b"A1:XFD1048576")
    )
    return data[: spot.start(group)] + by + data[spot.end(group) :]


def workbook(rng, data):
    """Damage a workbook: its bytes, or one of its parts which is then packed again."""
    if rng.random() < 0.1:
        return binary(rng, data)
    parts = members(data)
    sheets = [name for name in parts if "sheet" in name or "sharedStrings" in name]
    name = rng.choice(sheets if rng.random() < 0.6 and sheets else list(parts))
    way = rng.random()
    if way < 0.05:
        del parts[name]
    elif way < 0.1:
        parts[name + rng.choice(("", "2", "/../x"))] = parts.pop(name)
    elif way < 0.5:
        parts[name] = xml_value(rng, parts[name])
    else:
        parts[name] = text(rng, parts[name])
    return archived(parts)
