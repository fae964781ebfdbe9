"""The drawing as a camera would save it: light, lens, sensor and JPEG."""

from io import BytesIO

import numpy as np
from numpy.typing import NDArray

from pmulab.demo.lid import DrawnLid, Floats
from pmulab.demo.lid_scene import D65, scene_of

_XYZ_TO_RGB = np.array(
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
)  # IEC 61966-2-1
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)  # ICC.1, annex E


def draw(lid: DrawnLid) -> NDArray[np.uint8]:
    """Draw the photo, with the losses of its JPEG.

    Parameters
    ----------
    lid : DrawnLid

    Returns
    -------
    ndarray of shape (height, width, 3), uint8
    """
    from PIL import Image

    with Image.open(BytesIO(draw_jpeg(lid))) as image:
        return np.asarray(image)


def draw_jpeg(lid: DrawnLid) -> bytes:
    """Draw the photo as a camera would save it.

    Parameters
    ----------
    lid : DrawnLid

    Returns
    -------
    bytes
        A JPEG with halved colour resolution.
    """
    from PIL import Image

    chance = np.random.default_rng(lid.seed)
    seen = _photographed(lid, scene_of(lid, chance), chance)
    target = BytesIO()
    Image.fromarray(seen).save(target, "JPEG", quality=lid.quality, subsampling=2)
    return target.getvalue()


def _photographed(lid: DrawnLid, scene: Floats, chance: np.random.Generator) -> NDArray[np.uint8]:
    from scipy.ndimage import gaussian_filter

    wide = lid.size[0]
    ramp = np.linspace(-0.5, 0.5, wide, dtype=np.float32)
    light = scene @ (_under(lid).T * 0.45 * 2.0**lid.stops).astype(np.float32)
    light *= (1 - lid.falloff * ramp)[None, :, None]
    shift = 1 + lid.second_light * ramp[:, None] * np.array([-0.5, 0, 0.5], dtype=np.float32)
    light = gaussian_filter(light * shift, (*[lid.blur * lid.pixels_per_mm] * 2, 0))
    light += (
        chance.standard_normal(light.shape, dtype=np.float32)
        * lid.noise
        * np.sqrt(np.maximum(light, 0.01))
    )
    light = np.clip(light, 0, 1)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(np.round(255 * coded), dtype=np.uint8)


def _under(lid: DrawnLid) -> Floats:
    """Give the matrix from XYZ under D65 to linear sRGB under the light of the room."""
    gains = ((_BRADFORD @ _radiator(lid.kelvin)) / (_BRADFORD @ D65)) ** lid.cast
    adapted: Floats = np.linalg.inv(_BRADFORD) @ np.diag(gains) @ _BRADFORD
    return _XYZ_TO_RGB @ adapted


def _radiator(kelvin: float) -> Floats:
    """Give XYZ (Y = 1) of a black body, after Kim and others (2002)."""
    t = 1e3 / kelvin
    if kelvin < 4000:
        x = np.polyval([-0.2661239, -0.2343589, 0.8776956, 0.179910], t)
    else:
        x = np.polyval([-3.0258469, 2.1070379, 0.2226347, 0.240390], t)
    if kelvin < 2222:
        y = np.polyval([-1.1063814, -1.34811020, 2.18555832, -0.20219683], x)
    elif kelvin < 4000:
        y = np.polyval([-0.9549476, -1.37418593, 2.09137015, -0.16748867], x)
    else:
        y = np.polyval([3.0817580, -5.87338670, 3.75112997, -0.37001483], x)
    return np.array([x / y, 1.0, (1 - x - y) / y])
