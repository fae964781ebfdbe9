"""The drawing itself: skin, line, lashes and reference strip as reflected light."""

import numpy as np

from pmulab.demo.lid import STRIP_MM, DrawnLid, Floats, Lab, pigment_reach, places

D65 = np.array([0.95047, 1.0, 1.08883])
_PAPER, _INK = 0.86, 0.04
_GREY = 0.18419  # L* 50
_TICK_MM = 0.25


def _xyz(colour: Lab) -> Floats:
    from skimage.color import lab2xyz

    return np.asarray(lab2xyz(np.array(colour), illuminant="D65", observer="2"), dtype=np.float32)


def scene_of(lid: DrawnLid, chance: np.random.Generator) -> Floats:
    """Draw what there is to see.

    Parameters
    ----------
    lid : DrawnLid
    chance : Generator
        For the grain of the skin and the lashes.

    Returns
    -------
    ndarray of shape (height, width, 3)
        Reflected light as XYZ under D65, a white surface having Y = 1.
    """
    x, y = np.meshgrid(*(np.arange(side, dtype=np.float32) + 0.5 for side in lid.size))
    x, y = x / lid.pixels_per_mm - lid.centre[0], y / lid.pixels_per_mm - lid.centre[1]
    across = lid.radius - np.hypot(x, y)
    along = lid.radius * np.arctan2(x, y) + lid.length / 2
    texture = 1 + _texture(lid, chance) - 0.25 * np.exp(-(((across - 7.5) / 0.4) ** 2))
    scene: Floats = _xyz(lid.skin) * texture[..., None]
    pigment, fan = _cover(lid, along, across)
    grain = texture[..., None] ** 0.5
    scene += fan[..., None] * (_xyz(lid.fan) * grain - scene)
    scene += pigment[..., None] * (_xyz(lid.pigment) * grain - scene)
    lash = _lashes(lid, chance)[..., None]
    scene += lash * (_xyz((12.0, 2.0, 2.0)) - scene)
    _strip(lid, scene)
    if lid.label:
        scene += _written(lid)[..., None] * (_INK - scene)
    return scene


def _texture(lid: DrawnLid, chance: np.random.Generator) -> Floats:
    from PIL import Image
    from scipy.ndimage import gaussian_filter

    wide, high = lid.size
    total = np.zeros((high, wide), dtype=np.float32)
    for scale, strength, coarse in ((0.08, 0.015, 1), (0.6, 0.015, 6)):
        size = (high // coarse + 1, wide // coarse + 1)
        sharp = chance.standard_normal(size, dtype=np.float32)
        grain = gaussian_filter(sharp, scale * lid.pixels_per_mm / coarse)
        smooth = Image.fromarray(grain / grain.std()).resize(lid.size, Image.Resampling.BICUBIC)
        total += np.float32(strength) * np.asarray(smooth)
    return total


def _cover(lid: DrawnLid, along: Floats, across: Floats) -> tuple[Floats, Floats]:
    """Give the share of each pixel that holds the line, and that holds spread pigment."""

    def inside(distance: Floats) -> Floats:
        return np.asarray(np.clip(distance * lid.pixels_per_mm + 0.5, 0, 1))

    there = inside(np.minimum(along, lid.length - along))
    for start, end in lid.gaps:
        there = there * inside(np.maximum(start - along, along - end))
    line = there * inside(lid.width / 2 - np.abs(across))
    reach = there * inside(pigment_reach(lid, along) - across) * inside(across)
    return line, reach


def _lashes(lid: DrawnLid, chance: np.random.Generator) -> Floats:
    """Draw lashes below the line; one in twenty strays over it."""
    from PIL import Image, ImageDraw

    fine = 2
    image = Image.new("L", (fine * lid.size[0], fine * lid.size[1]))
    pen = ImageDraw.Draw(image)
    for _ in range(lid.lashes):
        root = chance.uniform(-1, lid.length + 1)
        start = -max(lid.width, lid.planned) / 2 - chance.uniform(0.1, 0.7)
        if chance.random() < 0.05:
            start = chance.uniform(0, 1.5)
        lean, long = chance.normal(0, 2), chance.uniform(4, 8)
        steps = np.linspace(0, 1, 9)
        at = places(lid, root + lean * steps**2, start - long * steps) * fine
        thick = chance.uniform(0.07, 0.12) * lid.pixels_per_mm * fine
        for here, there, share in zip(at, at[1:], steps, strict=False):
            pen.line(
                [*map(float, here), *map(float, there)], 255, max(round(thick * (1 - share)), 1)
            )
    small = image.resize(lid.size, Image.Resampling.BOX)
    return np.asarray(small, dtype=np.float32) / 255


def _written(lid: DrawnLid) -> Floats:
    from PIL import Image, ImageDraw, ImageFont

    image = Image.new("L", lid.size)
    font = ImageFont.load_default(1.6 * lid.pixels_per_mm)
    place = (3 * lid.pixels_per_mm, lid.size[1] - 2.6 * lid.pixels_per_mm)
    ImageDraw.Draw(image).text(place, lid.label, 255, font)
    return np.asarray(image, dtype=np.float32) / 255


def _strip(lid: DrawnLid, scene: Floats) -> None:
    """Lay the reference strip over the scene: white paper, millimetre marks, a grey bar."""
    k = lid.pixels_per_mm

    def block(left: float, top: float, wide: float, high: float, light: float) -> None:
        rows = slice(round(top * k), round((top + high) * k))
        scene[rows, round(left * k) : round((left + wide) * k)] = light * D65

    block(3, 2, STRIP_MM + 6, 9, _PAPER)
    block(6, 2.5, STRIP_MM, 4, _GREY)
    for mark in range(int(STRIP_MM) + 1):
        high = 3.4 if mark % 10 == 0 else 2.4
        block(6 + mark - _TICK_MM / 2, 7, _TICK_MM, high, _INK)
