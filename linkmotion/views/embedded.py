"""Photographs within a page: small enough for paper, upright, and without what a camera notes of place and owner."""

from __future__ import annotations

import base64
import io
from pathlib import Path

MOST_PIXELS = 1400  # along the longer side: 200 to the inch over the width of a sheet
_LOSSLESS = ("image/png", "image/gif", "image/webp")
_ORIENTATION, _ON_ITS_SIDE = 0x0112, (5, 6, 7, 8)  # tag and values of EXIF 2.3, 4.6.4 A


class NotShown(ValueError):
    """A picture that cannot be read."""


def embedded(path: Path, kind: str) -> str:
    """A picture as an address that holds it.

    Parameters
    ----------
    path, kind : Path, str
        The file; such as "image/png". A drawing (SVG) is taken as it is.

    Raises
    ------
    NotShown
        It is damaged.
    """
    if kind == "image/svg+xml":
        return _address(kind, path.read_bytes())
    return _address(*upright(path, kind))


def upright(path: Path, kind: str, most: int = MOST_PIXELS) -> tuple[str, bytes]:
    """A picture with pixels, as it is seen upright: its kind and its bytes.

    Parameters
    ----------
    path, kind : Path, str
        As for :func:`embedded`.
    most : int
        Pixels along its longer side; a larger one is made smaller.

    Raises
    ------
    NotShown
        It is damaged.
    """
    from PIL import Image, ImageFile, ImageOps

    ImageFile.LOAD_TRUNCATED_IMAGES = False  # who lays out pages turns it on, and half a photograph would pass for one
    try:
        with Image.open(path) as read:
            turned = ImageOps.exif_transpose(read)
            turned.thumbnail((most, most))
            out = io.BytesIO()
            if kind in _LOSSLESS and len(turned.getbands()) != 3:
                turned.convert("RGBA").save(out, "PNG")
                return "image/png", out.getvalue()
            turned.convert("RGB").save(out, "JPEG", quality=88)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise NotShown(str(error)) from None
    return "image/jpeg", out.getvalue()


def upright_size(path: Path) -> tuple[int, int]:
    """Pixels across and down of a picture as it is seen upright, without reading all of it.

    Raises
    ------
    NotShown
        It is damaged.
    """
    from PIL import Image

    try:
        with Image.open(path) as read:
            across, down = read.size
            on_its_side = read.getexif().get(_ORIENTATION, 1) in _ON_ITS_SIDE
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise NotShown(str(error)) from None
    return (down, across) if on_its_side else (across, down)


def _address(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"
