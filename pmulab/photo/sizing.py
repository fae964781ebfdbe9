"""One size for photos of any size."""

import numpy as np

from pmulab.photo.reading import Pixels


def resized(pixels: Pixels, longest: int) -> Pixels:
    """Shrink or enlarge a photo so that its longer side has just so many pixels.

    Parameters
    ----------
    pixels : ndarray of shape (height, width, 3), uint8
    longest : int
        At least 1.

    Returns
    -------
    ndarray of shape (height, width, 3), uint8
    """
    from PIL import Image

    height, width = pixels.shape[:2]
    scale = longest / max(height, width)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    image = Image.fromarray(np.ascontiguousarray(pixels))
    shown = image.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)
    return np.asarray(shown)
