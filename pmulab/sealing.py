"""Seal a card: hide its content from a glance, and notice every change of it.

The content is veiled with a stream made from its own fingerprint, so that equal cards do not look
alike. With a secret that is kept elsewhere, a card cannot be opened without that secret; without
one it is hidden from a glance only, not from somebody set on reading it.
"""

import base64
import json
from collections.abc import Mapping
from hashlib import sha256, shake_256
from typing import Any

from pmulab.errors import UserError


def sealed(card: Mapping[str, object], salt: str, secret: str = "") -> tuple[str, str]:
    """Seal one card.

    Parameters
    ----------
    card : mapping
        Plain data, ready for JSON.
    salt : str
        Differs from card to card.
    secret : str, default=""
        Needed again to open the card.

    Returns
    -------
    tuple of (sealed text in base64, fingerprint)
    """
    fresh = {**card, "salt": sha256(salt.encode()).hexdigest()}
    inner = json.dumps(fresh, sort_keys=True).encode()
    fingerprint = sha256(inner).hexdigest()
    return base64.b64encode(_veil(inner, secret + fingerprint)).decode(), fingerprint


def opened(row: Mapping[str, Any], place: str, remedy: str, secret: str = "") -> dict[str, Any]:
    """Open one card.

    Parameters
    ----------
    row : mapping with the keys 'sealed' and 'fingerprint'
    place : str
        File and line, for messages.
    remedy : str
        What to do about a damaged card.
    secret : str, default=""

    Returns
    -------
    dict

    Raises
    ------
    UserError
        If the card was changed or damaged, or the secret is another one.
    """
    try:
        fingerprint = row["fingerprint"]
        inner = _veil(base64.b64decode(row["sealed"], validate=True), secret + fingerprint)
        intact = sha256(inner).hexdigest() == fingerprint
        card = json.loads(inner)
    except (KeyError, TypeError, AttributeError, ValueError, RecursionError):
        raise UserError(f"{place}: this card was changed or damaged.", remedy) from None
    if not intact or not isinstance(card, dict):
        raise UserError(f"{place}: this card does not fit its fingerprint.", remedy)
    card.pop("salt", None)
    return card


def _veil(data: bytes, key: str) -> bytes:
    stream = shake_256(key.encode()).digest(len(data))
    return bytes(one ^ other for one, other in zip(data, stream, strict=True))
