"""A page tells an assessor codes and pictures, and neither client, side, arm nor repeat."""

import base64
import json
import re
from collections import Counter
from hashlib import sha256
from html.parser import HTMLParser

import pytest
from scored import DAY, SECRETS, prepared, put_photos, scored_study

from pmulab.scoring.page import page_html
from pmulab.stations.rounds import rounds
from pmulab.stations.score_prepare import prepare_scoring


class Page(HTMLParser):
    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.texts, self._in = [], {}, ()
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self._in = (tag, dict(attrs).get("id", ""))

    def handle_endtag(self, tag):
        self._in = ()

    def handle_data(self, data):
        self.texts[self._in] = self.texts.get(self._in, "") + data


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    study, one, key = prepared(tmp_path_factory.mktemp("page") / "study", clients=8)
    return study, one, key, study.path(one.page).read_text()


def pictures(page):
    return json.loads(Page(page).texts["script", "pictures"])


def test_no_client_side_arm_or_day_stands_in_the_page(made):
    study, _, key, page = made
    words = re.sub(r"data:image/jpeg;base64,[^\"]*", "", page)  # four letters may occur in pixels

    for card in study.assignments():
        assert card.client_code not in words
    assert DAY not in page
    assert str(key.seed) not in page
    told = json.loads(Page(page).texts["script", "round"])
    assert set(told) == {
        "format", "kind", "round", "number", "title", "invented", "questions", "ways", "photos",
        "pairs", "refusals",
    }  # fmt: skip
    assert "mirror" not in page.casefold()


def test_the_secret_and_the_key_stay_out_of_page_and_round(made):
    study, one, _, page = made
    sealed = json.loads(study.path(f"{one.folder}/key.json").read_text())["sealed"]

    assert one.secret not in page
    assert sealed not in page
    for path in study.path(one.folder).rglob("*"):
        assert path.is_dir() or one.secret.encode() not in path.read_bytes()


def test_no_two_pictures_are_alike_so_repeats_do_not_show(made):
    """Also where photos are far smaller than the pictures: equal bytes would tell repeats."""
    _, _, key, page = made
    shown = pictures(page)
    assert len(shown) == len(key.showings) + 2 * len(key.pairs)
    assert max(Counter(shown.values()).values()) == 1
    sizes = Counter(len(one) for one in shown.values())
    assert max(sizes.values()) < 4


def test_pictures_stand_in_the_order_of_their_codes(made):
    """Codes are drawn, so that the order of the file tells nothing that the codes do not."""
    _, _, key, page = made
    assert list(pictures(page)) == sorted(pictures(page))
    told = json.loads(Page(page).texts["script", "round"])
    assert told["photos"] == [one.code for one in key.showings]


def test_the_seed_is_not_to_be_found_from_the_codes(made):
    """128 bits from the operating system: nobody tries them all."""
    assert made[2].seed > 2**64


def test_the_page_may_load_nothing(made):
    page = Page(made[3])
    policy = next(a["content"] for t, a in page.tags if a.get("http-equiv"))

    assert "default-src 'none'" in policy
    assert "http" not in policy
    script = page.texts["script", ""]
    digest = base64.b64encode(sha256(script.encode()).digest()).decode()
    assert f"'sha256-{digest}'" in policy
    for tag, attributes in page.tags:
        assert tag not in ("link", "iframe", "object", "embed", "base", "form")
        assert not {"src", "href", "srcset", "action"} & set(attributes)
        assert not any(name.startswith("on") for name in attributes)
    code = re.sub(r'"data:image/jpeg;base64,[^"]*"', "", made[3])
    assert not re.search(r"https?:|url\(|@import|fetch\(|XMLHttp|WebSocket|sendBeacon", code)


def test_words_of_a_plan_cannot_break_out_of_the_page():
    public = {
        "number": 1, "title": "</script><script>alert(1)</script>", "invented": False,
        "ways": {"A": "</script><img src=x onerror=alert(1)>", "B": "b"}, "photos": [], "pairs": [],
        "questions": [], "round": "r", "format": 1, "refusals": [],
    }  # fmt: skip
    page = Page(page_html(public, {}))

    assert Counter(tag for tag, _ in page.tags)["script"] == 3
    assert "img" not in {tag for tag, _ in page.tags}


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_no_place_device_person_or_time_is_left_in_any_file_of_a_round(tmp_path, kind):
    """Read as bytes: Exif, comments, XMP and colour profiles all lie in segments of a JPEG that
    come before its picture (ITU-T T.81, APPn and COM; JFIF's APP0 alone may stay)."""
    if kind == "HEIF":
        pytest.importorskip("pillow_heif").register_heif_opener()
    from scored import photo

    study = scored_study(tmp_path / "study", clients=2, photos=False)
    ending = {"JPEG": "jpg", "PNG": "png", "HEIF": "heic"}[kind]
    place = put_photos(study, [], "")
    for number, name in enumerate(("C101_L_1", "C101_R_1", "C102_L_1")):
        data = photo(number, kind=kind)
        assert any(secret in data for secret in SECRETS)
        (place / f"{name}.{ending}").write_bytes(data)
    prepare_scoring(study)
    one = rounds(study)[0]

    found = list(study.path(f"{one.folder}/photos").iterdir())
    assert len(found) == 3 + 1 + 2
    files = [path.read_bytes() for path in found]
    page = study.path(one.page).read_text()
    files += [base64.b64decode(shown.split(",")[1]) for shown in pictures(page).values()]
    for data in files:
        assert not any(secret in data for secret in SECRETS)
        assert segments(data) <= {0xE0}
    assert all(
        path.stat().st_mtime > 1.7e9 and not re.search(r"C\d{3}|_[LR]_", path.name)
        for path in found
    )


def segments(data):
    """The APPn and COM segments of a JPEG."""
    kinds, at = set(), 2
    assert data[:2] == b"\xff\xd8"
    while data[at + 1] != 0xDA:
        if 0xE0 <= data[at + 1] <= 0xEF or data[at + 1] == 0xFE:
            kinds.add(data[at + 1])
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return kinds
