"""The bytes of a photo as upright pixels, and as a JPEG that says nothing about anyone.

A photo is a foreign file: its size is known before it is unpacked, only the formats of cameras are
opened, and a file that cannot be read is told in words. Pixels are taken as sRGB: phones that save
in a wider space say so in a colour profile, and that is converted here.
"""

import warnings
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pmulab.errors import UserError

if TYPE_CHECKING:
    from PIL.Image import Image

Pixels = NDArray[np.uint8]
"""An image of shape (height, width, 3), sRGB, 0 to 255."""

MOST_BYTES = 60_000_000
MOST_PIXELS = 70_000_000
_QUALITY = 95
_FORMATS = ("JPEG", "PNG")
_HEIF_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"})
_MODES = frozenset({"RGB", "RGBA", "L", "LA", "P"})
_RETAKE = "Take it with the phone's ordinary camera and save it as JPEG, PNG or HEIC."


def read_photo(data: bytes, where: str = "") -> Pixels:
    """Read a photo as pixels, turned upright.

    Parameters
    ----------
    data : bytes
        A JPEG or PNG file; a HEIC file where pillow-heif is installed.
    where : str, default=''
        File name used in messages.

    Returns
    -------
    ndarray of shape (height, width, 3), uint8
        sRGB. What is transparent becomes white.

    Raises
    ------
    UserError
        If it is no such file, is damaged, or is larger than `MOST_BYTES` or `MOST_PIXELS`.
    """
    try:
        return _read(data)
    except UserError as error:
        raise UserError(f"{where}: {error.what}" if where else error.what, error.remedy) from None


def _read(data: bytes) -> Pixels:
    if len(data) > MOST_BYTES:
        raise UserError(
            f"This file has {len(data) / 1e6:.0f} MB; a photo may have {MOST_BYTES / 1e6:.0f} MB.",
            _RETAKE,
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # the picture library only warns of a huge picture
            return _pixels(data)
    except UserError:
        raise
    except Exception as error:  # a foreign file may break a decoder in any way
        raise UserError(
            f"This file cannot be read as a photo ({type(error).__name__}).",
            f"It may be damaged or cut short: copy it again from the phone. {_RETAKE}",
        ) from None


def clean_jpeg(
    data: bytes, *, mirror: bool = False, longest: int | None = None, where: str = ""
) -> bytes:
    """Write a photo anew from its pixels alone: no place, no time, no device, no thumbnail.

    Parameters
    ----------
    data : bytes
        As for `read_photo`.
    mirror : bool, default=False
        Swap left and right.
    longest : int, optional
        Make the longer side at most this many pixels; a smaller photo stays as it is.
    where : str, default=''
        File name used in messages.

    Returns
    -------
    bytes
        A JPEG of quality 95 with full colour resolution.

    Raises
    ------
    UserError
        As `read_photo`.
    ValueError
        If `longest` is below 1.
    """
    if longest is not None and longest < 1:
        raise ValueError(f"longest must be at least 1, got {longest}")
    pixels = read_photo(data, where)
    return written_jpeg(pixels[:, ::-1] if mirror else pixels, longest)


def written_jpeg(pixels: Pixels, longest: int | None = None, quality: int = _QUALITY) -> bytes:
    """Write pixels as a JPEG without metadata.

    Parameters
    ----------
    pixels : ndarray of shape (height, width, 3), uint8
    longest : int, optional
        As for `clean_jpeg`.
    quality : int, default=95

    Returns
    -------
    bytes
    """
    from PIL import Image

    image = Image.fromarray(np.ascontiguousarray(pixels))
    if longest is not None:
        image.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    target = BytesIO()
    image.save(target, "JPEG", quality=quality, subsampling=0)
    return target.getvalue()


def _pixels(data: bytes) -> Pixels:
    from PIL import ImageOps

    with open_image(data) as image:
        width, height = image.size
        if width * height > MOST_PIXELS:
            raise _too_large(f"{width * height / 1e6:.0f} megapixels")
        if image.mode not in _MODES:
            raise UserError(f"This photo is not saved in ordinary colours ({image.mode}).", _RETAKE)
        profile = image.info.get("icc_profile")
        ImageOps.exif_transpose(image, in_place=True)
        upright = _flat(image)
        if upright is not image:
            image.close()  # a large photo in two forms at once fills a gigabyte
        return np.asarray(_in_srgb(upright, profile) if profile else upright)


def open_image(data: bytes) -> "Image":
    """Open a photo of a format that cameras write, without unpacking its pixels.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    Image

    Raises
    ------
    UserError
        If it is no such photo.
    """
    from PIL import Image, UnidentifiedImageError

    formats: tuple[str, ...] = _FORMATS
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF_BRANDS:
        _prepare_heif()
        formats = ("HEIF",)
    try:
        return Image.open(BytesIO(data), formats=formats)
    except UnidentifiedImageError:
        raise UserError("This file is no JPEG, PNG or HEIC photo.", _RETAKE) from None
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise _too_large("far too many megapixels") from None


def _prepare_heif() -> None:
    try:
        from pillow_heif import register_heif_opener
    except ImportError:
        raise UserError(
            "This is a HEIC photo, and the part that reads HEIC is not installed.",
            "Install it with: pip install 'pmulab[heic]' - or set the phone's camera to save "
            "JPEG ('most compatible').",
        ) from None
    register_heif_opener()


def _too_large(size: str) -> UserError:
    return UserError(
        f"This photo has {size}; it may have {MOST_PIXELS / 1e6:.0f}.",
        "Set the camera to 12 to 50 megapixels and take it again.",
    )


def _flat(image: "Image") -> "Image":
    """Give plain colours; what was made transparent must not show again."""
    from PIL import Image

    if image.mode in ("RGBA", "LA") or "transparency" in image.info:
        over = image if image.mode == "RGBA" else image.convert("RGBA")
        flat = Image.new("RGB", over.size, "white")
        flat.paste(over, mask=over.getchannel("A"))
        return flat
    return image if image.mode == "RGB" else image.convert("RGB")


def _in_srgb(image: "Image", profile: bytes) -> "Image":
    from PIL import ImageCms

    source = ImageCms.ImageCmsProfile(BytesIO(profile))
    if source.profile.xcolor_space.strip() != "RGB":
        return image
    told = (source.profile.profile_description or "").lower()
    if "srgb" in told:
        return image
    target = ImageCms.createProfile("sRGB")
    converted = ImageCms.profileToProfile(
        image, source, target, ImageCms.Intent.RELATIVE_COLORIMETRIC
    )
    return image if converted is None else converted
