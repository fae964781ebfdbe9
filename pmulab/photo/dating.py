"""The day that the camera wrote into a photo, read before everything of the kind is taken out."""

import re
import warnings
from datetime import date
from typing import Any

from pmulab.photo.reading import open_image

_DETAILS, _TAKEN, _CHANGED = 0x8769, 0x9003, 0x0132
_DAY = re.compile(r"(\d{4})[:-](\d\d)[:-](\d\d)")


def camera_day(data: bytes) -> str:
    """Give the day on which a photo was taken, by its camera.

    Parameters
    ----------
    data : bytes
        A photo that `read_photo` can read.

    Returns
    -------
    str
        ISO 8601; '' when the photo does not say.

    References
    ----------
    .. [1] Exif 2.32, tags DateTimeOriginal and DateTime.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with open_image(data) as image:
                tags = image.getexif()
                told: Any = tags.get_ifd(_DETAILS).get(_TAKEN) or tags.get(_CHANGED) or ""
        found = _DAY.match(str(told))
        return date(*map(int, found.groups())).isoformat() if found else ""
    except Exception:  # whatever is wrong with the details of a foreign photo: no day is known
        return ""
