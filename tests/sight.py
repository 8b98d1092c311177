"""How colours look to those who do not see all of them, and on grey paper.

Matrices of full dichromacy: Machado, Oliveira, Fernandes, "A Physiologically-based Model for Simulation of Color Vision
Deficiency", IEEE TVCG 15(6), 2009, 1291-1298, severity 1.0, from memory; they act on linear light.
"""

from __future__ import annotations

import matplotlib.colors
import numpy as np
from numpy.typing import NDArray

SIGHTS: dict[str, NDArray[np.float64]] = {
    "all colours": np.eye(3),
    "no red (protan)": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "no green (deutan)": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "no blue (tritan)": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722])  # IEC 61966-2-1


def linear(coded: NDArray[np.float64]) -> NDArray[np.float64]:
    """Light of coded sRGB, 0 to 1 (IEC 61966-2-1, 5.2); the last axis is red, green, blue."""
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def coded(light: NDArray[np.float64]) -> NDArray[np.float64]:
    """The reverse of ``linear``."""
    light = np.clip(light, 0.0, 1.0)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def seen(colour: str, sight: str) -> NDArray[np.float64]:
    """A colour's light as it is seen: red, green, blue."""
    light = linear(np.array(matplotlib.colors.to_rgb(colour), np.float64))
    return np.asarray(np.clip(np.dot(SIGHTS[sight], light), 0.0, 1.0), np.float64)


def lightness(colour: str, sight: str = "all colours") -> float:
    """L* before D65 (CIE 15:2004, 8.2.1), which is also what grey paper keeps."""
    luminance = float(_LUMINANCE @ seen(colour, sight))
    return 116 * luminance ** (1 / 3) - 16 if luminance > (6 / 29) ** 3 else luminance * (29 / 3) ** 3
