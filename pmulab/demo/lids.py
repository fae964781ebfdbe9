"""Drawn eyelids for the demonstration: no photo of anyone, only curves and colours."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pmulab.allocation import Side

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

_WIDTH, _HEIGHT, _FINE = 640, 432, 2
_INK, _FADED, _LASH = (52, 38, 36), (176, 134, 118), (70, 52, 46)
_SKINS = ((226, 190, 168), (214, 174, 150), (198, 156, 132), (233, 200, 182))


def drawn_lid(side: Side, kept: int, seed: int) -> NDArray[np.uint8]:
    """Draw a closed upper eyelid with a healed line.

    Parameters
    ----------
    side : {'L', 'R'}
        The client's own; the inner corner lies towards her nose.
    kept : int
        Of ten parts of the line, how many are dark; which ones is drawn.
    seed : int

    Returns
    -------
    ndarray of shape (432, 640, 3), uint8
    """
    from PIL import Image, ImageDraw

    rng = np.random.default_rng(seed)
    skin = _SKINS[int(rng.integers(len(_SKINS)))]
    lift = float(rng.uniform(0.9, 1.1))
    image = _skin_with_fold(skin, lift).resize((_WIDTH * _FINE, _HEIGHT * _FINE))
    draw = ImageDraw.Draw(image)
    dark = set(rng.permutation(10)[:kept].tolist())
    for part in range(10):
        places = np.linspace(part / 10, (part + 1) / 10, 30)
        points = [_on_line(place, lift) for place in places]
        colour, width = (_INK, 9) if part in dark else (_FADED, 5)
        draw.line(points, fill=colour, width=width * _FINE, joint="curve")
    _lashes(draw, rng, lift)
    x, y = _on_line(1.0, lift)
    draw.ellipse((x - 4, y - 14, x + 60, y + 26), fill=(206, 132, 126))
    small = np.asarray(image.resize((_WIDTH, _HEIGHT), Image.Resampling.BOX), dtype=np.int16)
    grain = rng.integers(-4, 5, small.shape, dtype=np.int16)
    noisy = np.clip(small + grain, 0, 255).astype(np.uint8)
    return noisy if side == "R" else np.ascontiguousarray(noisy[:, ::-1])


def _on_line(place: float, lift: float) -> tuple[float, float]:
    """Give a point of the lash line, from the outer corner (0) to the inner one (1)."""
    x = (0.12 + 0.74 * place) * _WIDTH
    y = (0.52 + 0.16 * lift * (1 - (2 * place - 1) ** 2)) * _HEIGHT
    return x * _FINE, y * _FINE


def _skin_with_fold(skin: tuple[int, int, int], lift: float) -> "Image":
    """Draw skin with the soft fold above the eye, small, as nothing in it is sharp."""
    from PIL import Image, ImageDraw, ImageFilter

    small = 8
    image = Image.new("RGB", (_WIDTH // small, _HEIGHT // small), skin)
    points = [_on_line(place, lift) for place in np.linspace(0, 1, 60)]
    above = [(x / small / _FINE, (y / _FINE - 0.2 * _HEIGHT) / small) for x, y in points]
    shade = tuple(int(part * 0.86) for part in skin)
    ImageDraw.Draw(image).line(above, fill=shade, width=2)
    return image.filter(ImageFilter.GaussianBlur(1.2))


def _lashes(draw: "ImageDraw", rng: np.random.Generator, lift: float) -> None:
    for place in np.linspace(0.03, 0.94, 44):
        x, y = _on_line(float(place), lift)
        length = float(rng.uniform(22, 40)) * _FINE
        lean = (0.5 - place) * -0.9 + rng.normal(0, 0.06)
        tip = (x + length * lean, y + length)
        draw.line([(x, y), tip], fill=_LASH, width=_FINE)
