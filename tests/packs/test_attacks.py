"""Strange packs: what was tried, and the words it is refused with."""

import json
import os
import re
import stat
import zipfile
from io import BytesIO

import packs_builder as build
import pytest

from pmulab.errors import UserError
from pmulab.packs.many import find_packs, read_packs
from pmulab.packs.model import DESCRIPTOR, FINDINGS, FORMAT, PLAN
from pmulab.packs.reading import read_pack

PARTS = build.parts_of(build.packed())


def with_entry(name, data=b"x", **info):
    """The pack with one more entry, told as given."""
    buffer = BytesIO(build.packed())
    with zipfile.ZipFile(buffer, "a") as archive:
        entry = zipfile.ZipInfo(name)
        for key, value in info.items():
            setattr(entry, key, value)
        archive.writestr(entry, data, zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def twice(name):
    with pytest.warns(UserWarning, match="Duplicate name"):
        return with_entry(name, PARTS[name])


def encrypted():
    """The pack with the flag of encryption set in every header."""
    data = bytearray(build.packed())
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(mark)
        while at >= 0:
            data[at + offset] |= 1
            at = data.find(mark, at + 4)
    return bytes(data)


def lying_size():
    """An archive whose list promises less than it unpacks to."""
    data = bytearray(build.zipped({**PARTS, "clients.csv": b"0" * 3_000_000}))
    at = data.find(b"clients.csv", data.find(b"PK\x01\x02"))
    data[at - 22 : at - 18] = (100).to_bytes(4, "little")
    return bytes(data)


def deep(levels):
    return lambda text: text.replace('"invented": true', '"invented": ' + "[" * levels, 1)


def sub(old, new):
    def change(text):
        assert old in text, old
        return text.replace(old, new, 1)

    return change


def minutes(value):
    """Put another number for the first client's minutes with way A."""
    return lambda text: re.sub(r",work_min,[0-9.]+", f",work_min,{value}", text, count=1)


def one_more_client(text):
    return text + "C001" + "," * text.split("\r\n")[0].count(",") + "\r\n"


def own(**entries):
    return build.described(lambda told: told["pmulab"].update(entries))


ATTACKS = {
    "zip slip": (lambda: with_entry("../../evil.txt"), "land outside"),
    "zip slip, other slash": (lambda: with_entry("..\\evil.txt"), "land outside"),
    "absolute path": (lambda: with_entry("/etc/evil"), "land outside"),
    "drive letter": (lambda: with_entry("c:evil"), "land outside"),
    "a folder": (lambda: with_entry("photos/"), "land outside"),
    "symlink inside": (
        lambda: with_entry("link", b"/etc/passwd", external_attr=(stat.S_IFLNK | 0o777) << 16),
        "is a link",
    ),
    "a file that no pack holds": (lambda: with_entry("photo.jpg"), "no pack holds"),
    "a workbook with entities": (lambda: with_entry("records.xlsx"), "no pack holds"),
    "an XML entity bomb": (
        lambda: with_entry("x.xml", b'<!DOCTYPE a [<!ENTITY b "bb">]><a>&b;</a>'),
        "no pack holds",
    ),
    "one name twice": (lambda: twice("clients.csv"), "2 times"),
    "one name in two cases": (lambda: with_entry("CLIENTS.CSV"), "2 times"),
    "zip bomb": (
        lambda: build.zipped({**PARTS, "clients.csv": b"0" * 30_000_000}), "would unpack to",
    ),
    "zip bomb, many times smaller": (
        lambda: build.zipped({**PARTS, "clients.csv": b"0" * 19_000_000}), "would unpack to",
    ),
    "a size that lies": (lying_size, "damaged"),
    "huge": (lambda: b"PK\x03\x04" + b"0" * 6_000_000, "larger than"),
    "encrypted": (encrypted, "password"),
    "no archive": (lambda: b"hello", "not a zip archive"),
    "an archive behind something else": (lambda: b"MZ" + build.packed(), "not a zip archive"),
    "cut short": (lambda: build.packed()[:-200], "damaged"),
    "bytes turned": (
        lambda: build.packed()[:900] + b"\x00\xff\x00\xff" + build.packed()[904:],
        r"damaged|changed after",
    ),
    "a missing file": (
        lambda: build.zipped({k: v for k, v in PARTS.items() if k != PLAN}), "lacks plan.json",
    ),
    "an archive of something else": (
        lambda: build.zipped({**PARTS, DESCRIPTOR: b"{}"}), "no pack of pmulab",
    ),
    "a future version": (lambda: own(format=FORMAT + 1), "later release"),
    "a version that is none": (lambda: own(format="1"), "no pack of pmulab"),
    "one more entry in the descriptor": (lambda: own(surprise=1), "not as pack writes it"),
    "a label with line ends": (lambda: own(label="a\nb"), "not as pack writes it"),
    "a label without end": (lambda: own(label="a" * 500), "not as pack writes it"),
    "rows of more clients than it says": (lambda: own(clients=11), "as many clients"),
    "a changed file": (
        lambda: build.zipped({**PARTS, "sessions.csv": PARTS["sessions.csv"] + b"\r\n"}),
        "changed after",
    ),
    "a file listed twice": (
        lambda: build.described(lambda told: told["resources"].append(told["resources"][0])),
        "once each",
    ),
    "a wrong fingerprint of the plan": (lambda: own(plan="0" * 64), "fingerprints do not fit"),
    "a wrong fingerprint of the study": (lambda: own(study="0" * 64), "fingerprints do not fit"),
    "a plan that was changed": (
        lambda: build.forged(PLAN, sub('"worthwhile": 2.0', '"worthwhile": 0.1')),
        r"other outcomes|fingerprints do not fit",
    ),
    "arms that were turned": (
        lambda: build.forged(PLAN, sub('"label": "damp wipe"', '"label": "dry wipe"')),
        "fingerprints do not fit",
    ),
    "a findings file of a later release": (
        lambda: build.forged(FINDINGS, sub('"format": 1', '"format": 9')), "later release",
    ),
    "findings with one entry more": (
        lambda: build.forged(FINDINGS, sub('"safety": {', '"script": 1, "safety": {')),
        "cannot be read",
    ),
    "a difference made larger": (
        lambda: build.forged(FINDINGS, sub('"mean": 14.25', '"mean": 10.25')),
        "do not fit together",
    ),
    "a spread made smaller": (
        lambda: build.forged(
            FINDINGS, sub('"sd_of_differences": 1.8', '"sd_of_differences": 0.8')
        ),
        "do not fit together",
    ),
    "harm that is gone": (
        lambda: build.forged(FINDINGS, sub('"with_event": 1', '"with_event": 0')), "impossible",
    ),
    "a negative count": (
        lambda: build.forged(FINDINGS, sub('"treated": 12', '"treated": -12')), "impossible",
    ),
    "not a number": (
        lambda: build.forged(FINDINGS, sub('"mean": 14.25', '"mean": NaN')), "cannot be read",
    ),
    "deep JSON in the findings": (
        lambda: build.forged(FINDINGS, sub('"format": 1', '"format": ' + "[" * 5000)),
        "cannot be read",
    ),
    "deep JSON in the plan": (
        lambda: build.forged(PLAN, deep(50_000)), r"cannot be read|nested deeper",
    ),
    "deep JSON in the descriptor": (
        lambda: build.zipped({**PARTS, DESCRIPTOR: b'{"a":' * 60_000}), "nested deeper",
    ),
    "one name twice in the descriptor": (
        lambda: build.zipped({**PARTS, DESCRIPTOR: b'{"pmulab": 1, "pmulab": 2}'}), "given twice",
    ),
    "no text": (lambda: build.zipped({**PARTS, DESCRIPTOR: b"\xff\xfe\x00"}), "UTF-8"),
    "a formula": (
        lambda: build.forged("sessions.csv", sub("thin_line", "=1+1")), "is a formula",
    ),
    "a formula behind a sign": (
        lambda: build.forged("sessions.csv", sub("thin_line", "-cmd")), "is a formula",
    ),
    "a formula behind an at": (
        lambda: build.forged("clients.csv", sub("none", "@SUM(A1)")), "is a formula",
    ),
    "a script in a cell": (
        lambda: build.forged("sessions.csv", sub("thin_line", "<script>")), "no code, number",
    ),
    "a quoted comma": (
        lambda: build.forged("sessions.csv", sub("thin_line", '"a,b"')), "no code, number",
    ),
    "a table without end": (
        lambda: build.forged("clients.csv", lambda text: text[:-2]), "no plain table",
    ),
    "a column twice": (
        lambda: build.forged("clients.csv", sub("skin_type", "age_band")), "names a column twice",
    ),
    "a row too short": (
        lambda: build.forged("clients.csv", lambda text: text + "C101,I\r\n"), "different length",
    ),
    "a client from nowhere": (
        lambda: build.forged("clients.csv", one_more_client), "in no other table",
    ),
    "a value out of range": (
        lambda: build.forged("differences.csv", minutes("1e9")), "outside",
    ),
    "infinity": (
        lambda: build.forged("differences.csv", minutes("9e999")), "outside",
    ),
    "an outcome of no plan": (
        lambda: build.forged("differences.csv", sub("work_min", "other_min")), "a row too many",
    ),
    "a row twice": (
        lambda: build.forged(
            "differences.csv", lambda text: text + text.split("\r\n")[1] + "\r\n"
        ),
        "a row too many",
    ),
    "other columns": (
        lambda: build.forged("differences.csv", sub("a_left", "b_left")), "columns of a pack",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ATTACKS)
def test_a_strange_pack_is_refused_in_words(name, tmp_path):
    made, words = ATTACKS[name]
    path = tmp_path / "strange.zip"
    path.write_bytes(made())
    with pytest.raises(UserError, match=words) as refusal:
        read_pack(path)

    assert refusal.value.remedy
    assert "strange.zip" in refusal.value.what
    assert sorted(os.listdir(tmp_path)) == ["strange.zip"]


def test_a_link_to_a_pack_is_refused(tmp_path):
    (tmp_path / "pack.zip").write_bytes(build.packed())
    (tmp_path / "link.zip").symlink_to(tmp_path / "pack.zip")

    with pytest.raises(UserError, match="link to another file"):
        read_pack(tmp_path / "link.zip")


def test_every_attack_among_good_packs_is_set_aside_and_the_rest_goes_on(tmp_path):
    for number, (made, _) in enumerate(ATTACKS.values()):
        (tmp_path / f"bad-{number:02}.zip").write_bytes(made())
    (tmp_path / "good.zip").write_bytes(build.packed())
    (tmp_path / "other.zip").write_bytes(build.packed("Lantry"))

    good, bad = read_packs(find_packs([tmp_path]))

    assert [one.source for one in good] == ["good.zip", "other.zip"]
    assert len(bad) == len(ATTACKS)
    assert all(one.why for one in bad)
    assert not any(one.why.startswith("could not be read (") for one in bad)


def test_a_bug_in_the_reader_costs_one_pack_only(tmp_path, monkeypatch):
    from pmulab.packs import many

    def broken(path):
        raise ZeroDivisionError

    monkeypatch.setattr(many, "read_pack", broken)
    (tmp_path / "a.zip").write_bytes(build.packed())

    good, bad = read_packs([tmp_path / "a.zip"])

    assert good == []
    assert "ZeroDivisionError" in bad[0].why


def test_a_good_pack_gives_back_what_was_packed(tmp_path):
    path = tmp_path / "pack.zip"
    path.write_bytes(build.packed())
    found = read_pack(path)
    studio = build.group()["Orvane"]

    assert found.label == studio.label
    assert found.made == "2026-09-01"
    assert found.findings.plan == studio.plan
    assert found.findings.safety == studio.findings.safety
    assert found.findings.primary.difference == studio.findings.primary.difference
    assert len(found.rows) == 12
    kept = {(c.a, c.b, c.a_first, c.a_left) for c in found.findings.primary.clients}
    assert kept == {(c.a, c.b, c.a_first, c.a_left) for c in studio.findings.primary.clients}


def test_the_descriptor_is_plain_json_with_our_own_under_one_key():
    told = json.loads(PARTS[DESCRIPTOR])

    assert told["profile"] == "data-package"
    assert told["pmulab"]["format"] == FORMAT
    assert {resource["path"] for resource in told["resources"]} == set(PARTS) - {DESCRIPTOR}
