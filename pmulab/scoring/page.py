"""The scoring page: one file with the pictures inside, for a browser without Python or network."""

import base64
import json
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from pmulab.pages import template

CAUTIONS = (
    "These pictures show people's eyes, and eyes identify people. Show them to nobody, copy them "
    "nowhere, and delete this page when your answers have been taken in.",
    "Judge what you see, alone, without talking about it until everybody has answered.",
    "If a picture shows what may harm a client (redness, swelling, a blue-grey fan beyond the "
    "line), tell the studio at once: scoring never waits for that.",
)


def page_html(public: Mapping[str, Any], pictures: Mapping[str, bytes]) -> str:
    """Write the scoring page of a round.

    Parameters
    ----------
    public : mapping
        From `public_round`, with the reasons to refuse a photo.
    pictures : mapping of str to bytes
        JPEG by name: the code, or for side-by-side pictures the code with -1 (left) and -2.

    Returns
    -------
    str
        HTML that may load nothing from anywhere (its own content security policy says so).
    """
    shown = {
        name: "data:image/jpeg;base64," + base64.b64encode(data).decode()
        for name, data in pictures.items()
    }
    script = f"{scorer_script()}\n{_text('alone.js')}"
    policy = (
        "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; "
        f"form-action 'none'; script-src 'sha256-{_digest(script)}'"
    )
    return template("pmulab.scoring", "score.html.jinja").render(
        number=public["number"],
        title=public["title"],
        invented=public["invented"],
        cautions=CAUTIONS,
        policy=Markup(policy),
        style=Markup(scorer_style()),
        script=Markup(script),
        round=Markup(_safe_json(public)),
        pictures=Markup(_safe_json(shown)),
    )


@cache
def scorer_script() -> str:
    """Give the scoring form as JavaScript: `startScoring(root, round, store)`."""
    return _text("scorer.js")


@cache
def scorer_style() -> str:
    """Give the looks of the scoring form."""
    return _text("scorer.css")


def _text(name: str) -> str:
    return files("pmulab.scoring").joinpath(f"pages/{name}").read_text(encoding="utf-8")


def _digest(script: str) -> str:
    return base64.b64encode(sha256(script.encode()).digest()).decode()


def _safe_json(content: Mapping[str, Any]) -> str:
    """Write JSON that cannot end the element it stands in, whatever words it holds."""
    text = json.dumps(content, ensure_ascii=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
