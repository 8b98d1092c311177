"""Photographs within a page: small enough for paper, upright, and without what a camera notes of place and owner."""

from __future__ import annotations

import base64
import io
from pathlib import Path

MOST_PIXELS = 1400  # along the longer side: 200 to the inch over the width of a sheet
_LOSSLESS = ("image/png", "image/gif", "image/webp")


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
    from PIL import Image, ImageFile, ImageOps

    ImageFile.LOAD_TRUNCATED_IMAGES = False  # who lays out pages turns it on, and half a photograph would pass for one
    try:
        with Image.open(path) as read:
            upright = ImageOps.exif_transpose(read)
            upright.thumbnail((MOST_PIXELS, MOST_PIXELS))
            out = io.BytesIO()
            if kind in _LOSSLESS and len(upright.getbands()) != 3:
                upright.convert("RGBA").save(out, "PNG")
                return _address("image/png", out.getvalue())
            upright.convert("RGB").save(out, "JPEG", quality=88)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise NotShown(str(error)) from None
    return _address("image/jpeg", out.getvalue())


def _address(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"
