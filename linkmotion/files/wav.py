"""Sound files: 16-bit PCM in a WAV."""

from __future__ import annotations

import io
import wave
from typing import Any

import numpy as np


def as_wav(samples: Any, rate: int) -> bytes:
    """Samples as the bytes of a WAV.

    Parameters
    ----------
    samples : array, shape (N, channels)
        −1 to 1; what is more is cut off.
    rate : int
        Samples a second.
    """
    values = np.asarray(samples, float)
    whole = np.clip(np.rint(values * 32767), -32768, 32767).astype("<i2")
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(values.shape[1])
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(whole.tobytes())
    return out.getvalue()
