"""Files that mean harm, or are broken, are refused with a sentence, quickly and without a trace."""

import random
import struct
import time
import zipfile
from contextlib import suppress
from io import BytesIO

import pytest

from exchange_scores import plain, rich
from fretwright.base.errors import ExchangeError
from fretwright.exchange import xmltree
from fretwright.exchange.midi_events import MOST_BYTES
from fretwright.exchange.midi_in import read_midi
from fretwright.exchange.midi_out import write_midi
from fretwright.exchange.musicxml_in import read_musicxml
from fretwright.exchange.musicxml_out import write_musicxml

_LAUGHS = "".join(f'<!ENTITY lol{n} "{f"&lol{n - 1};" * 10}">' for n in range(1, 10))
_TYPE = "<!DOCTYPE s [{}]><score-partwise>{}</score-partwise>"
_HOSTILE = {
    "billion laughs": _TYPE.format(f'<!ENTITY lol0 "lol">{_LAUGHS}', "&lol9;"),
    "file of the machine": _TYPE.format('<!ENTITY x SYSTEM "file:///etc/passwd">', "&x;"),
    "address": _TYPE.format('<!ENTITY x SYSTEM "http://127.0.0.1:9/x">', "&x;"),
    "parameter entity": _TYPE.format('<!ENTITY % p SYSTEM "http://127.0.0.1:9/p"> %p;', ""),
    "unparsed entity": _TYPE.format('<!NOTATION n SYSTEM "n"><!ENTITY x SYSTEM "x" NDATA n>', ""),
    "depth": "<score-partwise>" + "<a>" * 5000 + "</a>" * 5000 + "</score-partwise>",
    "no end": "<score-partwise><part>",
    "no XML": "this is not XML",
    "nothing": "",
    "another format": "<html><body>hello</body></html>",
    "no parts": "<score-partwise version='4.0'><part-list/></score-partwise>",
    "one endless word": "<score-partwise><work><work-title>"
    + "a" * 2_000_000
    + "</work-title></work></score-partwise>",
    "unknown character set": '<?xml version="1.0" encoding="klingon"?><score-partwise/>',
}


@pytest.mark.parametrize("what", _HOSTILE)
def test_hostile_xml_is_refused_at_once(what: str) -> None:
    started = time.process_time()
    with pytest.raises(ExchangeError):
        read_musicxml(_HOSTILE[what].encode(), "hostile.musicxml")
    assert time.process_time() - started < 2.0


def test_too_many_elements_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xmltree, "MOST_ELEMENTS", 50)
    with pytest.raises(ExchangeError, match="more elements"):
        read_musicxml(write_musicxml(plain()), "a.musicxml")


def test_a_file_too_large_is_refused_before_it_is_parsed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xmltree, "MOST_BYTES", 100)
    with pytest.raises(ExchangeError, match="larger than"):
        read_musicxml(write_musicxml(plain()), "a.musicxml")


def packed(files: dict[str, bytes]) -> bytes:
    target = BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return target.getvalue()


def container(path: str) -> bytes:
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'.encode()


def test_a_compressed_score_is_read() -> None:
    data = packed({"META-INF/container.xml": container("s.xml"), "s.xml": write_musicxml(plain())})
    assert len(read_musicxml(data, "a.mxl").score.notes) == 8


@pytest.mark.parametrize(
    "files",
    [
        {},
        {"META-INF/container.xml": b"<container/>"},
        {"META-INF/container.xml": container("missing.xml")},
        {"META-INF/container.xml": container("../../etc/passwd")},
        {"META-INF/container.xml": container("s.xml"), "s.xml": b" " * 40_000_000},
        {"META-INF/container.xml": b" " * 40_000_000},
    ],
    ids=["empty", "no score named", "named but missing", "out of the archive", "bomb", "bomb in front"],
)
def test_a_broken_or_swollen_archive_is_refused(files: dict[str, bytes]) -> None:
    data = packed(files) if files else b"PK\x03\x04 not a zip"
    with pytest.raises(ExchangeError):
        read_musicxml(data, "a.mxl")


@pytest.mark.parametrize("seed", range(200))
def test_a_damaged_musicxml_file_is_refused_or_read_but_never_crashes(seed: int) -> None:
    dice = random.Random(seed)
    data = bytearray(write_musicxml(rich()))
    for _ in range(dice.randint(1, 6)):
        at = dice.randrange(len(data))
        if dice.random() < 0.3:
            del data[at : at + dice.randint(1, 300)]
        else:
            data[at] = dice.choice(b"0123456789-.<>/ abcE")
    with suppress(ExchangeError):
        read_musicxml(bytes(data), "damaged.musicxml")


@pytest.mark.parametrize("seed", range(200))
def test_a_damaged_midi_file_is_refused_or_read_but_never_crashes(seed: int) -> None:
    dice = random.Random(seed)
    data = bytearray(write_midi(rich()))
    for _ in range(dice.randint(1, 6)):
        at = dice.randrange(len(data))
        if dice.random() < 0.3:
            del data[at : at + dice.randint(1, 30)]
        else:
            data[at] = dice.randrange(256)
    with suppress(ExchangeError):
        read_midi(bytes(data), "damaged.mid")


def midi_file(track: bytes, division: int = 480) -> bytes:
    header = struct.pack(">4sLHHH", b"MThd", 6, 0, 1, division)
    return header + struct.pack(">4sL", b"MTrk", len(track)) + track


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"MThd",
        b"RIFFxxxxWAVE",
        midi_file(b"\x00\xff\x2f\x00"),
        midi_file(b"\x00\x90\x40\x40", division=0xE728),
        midi_file(b"\x00\x90\x40\x40\xff\xff\xff\x7f\x80\x40\x00" * 4),
        midi_file(b"\x00\x40\x40\x00"),
        midi_file(b"\x00\xf0\xff\xff\xff\x7f"),
    ],
    ids=["nothing", "header", "sound", "no notes", "film frames", "years", "no status", "endless message"],
)
def test_a_broken_midi_file_is_refused(data: bytes) -> None:
    with pytest.raises(ExchangeError):
        read_midi(data, "broken.mid")


def test_a_midi_file_too_large_is_refused() -> None:
    with pytest.raises(ExchangeError, match="larger than"):
        read_midi(b"MThd" + b"\x00" * MOST_BYTES, "large.mid")
