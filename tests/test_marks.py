"""The mark by which a file that linkmotion wrote is known again."""

from __future__ import annotations

import io
import wave
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from linkmotion.files.marks import Mark, mark_of, marked
from linkmotion.files.wav import as_wav

SVG = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"><g/></svg>\n'


def dxf() -> bytes:
    from ezdxf.filemanagement import new

    document, out = new("R2010"), io.StringIO()
    document.modelspace().add_line((0, 0), (3, 4))
    document.write(out)
    return out.getvalue().encode()


def pdf() -> bytes:
    from matplotlib.figure import Figure

    out = io.BytesIO()
    Figure().savefig(out, format="pdf", metadata={"CreationDate": None})
    return out.getvalue()


EACH = {
    ".svg": SVG,
    ".html": b"<!doctype html>\n<html><body>ours</body></html>",
    ".dxf": dxf(),
    ".pdf": pdf(),
    ".wav": as_wav(np.sin(np.arange(901))[:, None], 8000),
}


@pytest.mark.parametrize("ending", EACH)
@pytest.mark.parametrize("group", ["", "slot plots"])
def test_a_marked_file_is_known_until_any_byte_is_changed(ending: str, group: str, tmp_path: Path) -> None:
    file = tmp_path / f"file{ending}"
    data = marked(EACH[ending], ending, group)
    file.write_bytes(data)
    assert mark_of(file) == Mark(group, True)
    for at in np.linspace(0, len(data) - 1, 60).astype(int):
        file.write_bytes(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])
        other = mark_of(file)
        assert other is None or not other.sound, f"byte {at}"
    for longer in (data + b" ", b" " + data, data[:-1], data[1:]):
        file.write_bytes(longer)
        other = mark_of(file)
        assert other is None or not other.sound
    file.write_bytes(EACH[ending])
    assert mark_of(file) is None


def test_a_marked_file_is_still_one_of_its_kind(tmp_path: Path) -> None:
    """Asked of other libraries: an XML reader, ezdxf, pymupdf and the standard library's wave."""
    import ezdxf.filemanagement
    import pymupdf

    for ending, data in EACH.items():
        (tmp_path / f"file{ending}").write_bytes(marked(data, ending))
    assert ET.fromstring((tmp_path / "file.svg").read_bytes()).tag.endswith("svg")
    drawing = ezdxf.filemanagement.readfile(tmp_path / "file.dxf")
    assert [tuple(line.dxf.end)[:2] for line in drawing.modelspace()] == [(3, 4)]
    assert not drawing.audit().errors
    with pymupdf.open(tmp_path / "file.pdf") as paper:
        assert (paper.page_count, paper.is_repaired) == (1, False)
    raw = (tmp_path / "file.wav").read_bytes()
    assert int.from_bytes(raw[4:8], "little") == len(raw) - 8
    with wave.open(str(tmp_path / "file.wav")) as sound, wave.open(io.BytesIO(EACH[".wav"])) as before:
        assert sound.getparams() == before.getparams()
        assert sound.readframes(10_000) == before.readframes(10_000)


def chunks(wav: bytes) -> dict[bytes, bytes]:
    """The chunks of a RIFF file by their names; each begins at an even place."""
    found, at = {}, 12
    while at < len(wav):
        size = int.from_bytes(wav[at + 4 : at + 8], "little")
        found[wav[at : at + 4]] = wav[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
    assert at == len(wav)
    return found


@pytest.mark.parametrize("count", [900, 901])
@pytest.mark.parametrize("group", ["", "beat", "beats"])
def test_the_mark_of_a_sound_is_a_chunk_beside_the_others(count: int, group: str) -> None:
    """With samples of one byte the sound may be odd, and is filled up; words in a chunk end with a nought."""
    out = io.BytesIO()
    with wave.open(out, "wb") as sound:
        sound.setparams((1, 1, 8000, 0, "NONE", ""))
        sound.writeframes(bytes(count))
    found = chunks(marked(out.getvalue(), ".wav", group))
    assert list(found) == [b"fmt ", b"data", b"LIST"]
    assert len(found[b"data"]) == count
    kind, entry, size, text = (found[b"LIST"][a:b] for a, b in ((0, 4), (4, 8), (8, 12), (12, None)))
    assert (kind, entry, int.from_bytes(size, "little")) == (b"INFO", b"ISFT", len(text))
    assert len(text) % 2 == 0
    assert text.rstrip(b"\0")[-64:].isalnum()
    assert text.endswith(b"\0")


def test_the_mark_of_a_paper_stands_before_its_last_table() -> None:
    """A PDF that was added to has a table for each time; a reader begins with the last."""
    before, last = b"%PDF-1.4\nstartxref\n9\n%%EOF\nmore\n", b"startxref\n31\n%%EOF\n"
    data = marked(before + last, ".pdf")
    assert data.startswith(before + b"% linkmotion wrote this")
    assert data.endswith(b"\n" + last)


@pytest.mark.parametrize(
    ("ending", "data"),
    [
        (".svg", SVG.replace(b"<g/>", b"<g/>" * 5000)),
        (".wav", as_wav(np.zeros((20_000, 1)), 8000)),
        (".dxf", EACH[".dxf"] + b"999\nmore\n" * 2000),
    ],
)
def test_the_mark_of_a_long_file_is_found_at_its_own_end_of_it(ending: str, data: bytes, tmp_path: Path) -> None:
    file = tmp_path / f"file{ending}"
    file.write_bytes(marked(data, ending))
    assert mark_of(file) == Mark("", True)


def test_the_mark_of_a_page_is_its_last_line_however_the_page_ended() -> None:
    page = EACH[".html"]
    assert marked(page + b" \n\n", ".html") == marked(page, ".html")
    assert marked(page, ".html").startswith(page + b"\n<!-- linkmotion wrote this")


def test_a_kind_without_a_place_for_the_mark_cannot_be_written_unmarked() -> None:
    with pytest.raises(ValueError, match=r"no place for a mark in '\.png'"):
        marked(b"", ".png")
