"""Staff places, beams and time held against verovio, an independent engraver.

The score is written out as MEI (Music Encoding Initiative, www.music-encoding.org) in this file; verovio then
says where each head stands, which notes a beam joins, and when each note starts. Beam groups are also held
against the automatic beaming of the Humdrum tools inside verovio, which beam by the beat.
"""

import re
from fractions import Fraction
from itertools import pairwise
from typing import Any, Protocol
from xml.etree import ElementTree as ET

import pytest

from fretwright.engrave.beaming import beam_groups
from fretwright.engrave.ink import Line
from fretwright.engrave.plate import engrave
from fretwright.engrave.reading import BarOfColumns, Column, read
from fretwright.engrave.style import PlateStyle
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.score.values import Value
from plate_reading import ink, middle, staff_top, step
from plate_scores import in_two_voices, wandering, written

SVG = "{http://www.w3.org/2000/svg}"
MEI = "{http://www.music-encoding.org/ns/mei}"
ACCIDENTALS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}


class Kit(Protocol):
    """What the tests use of verovio's toolkit."""

    def setOptions(self, json_options: dict[Any, Any]) -> bool: ...  # noqa: N802 - verovio's own names
    def loadData(self, data: str) -> bool: ...  # noqa: N802
    def renderToSVG(self, page: int) -> str: ...  # noqa: N802
    def renderToTimemap(self, options: dict[str, Any]) -> list[dict[str, Any]]: ...  # noqa: N802
    def getMEI(self) -> str: ...  # noqa: N802


def mei(score: Score) -> str:
    """The score as MEI, one voice, beams where our engraver puts them."""
    bars = read(score)
    key = f"{abs(score.key.fifths)}{'f' if score.key.fifths < 0 else 's'}" if score.key.fifths else "0"
    meter = score.bars[0].meter
    measures = "".join(
        f'<measure n="{bar.bar.number}"><staff n="1"><layer n="1">'
        f"{_layer(bar.voices[0])}</layer></staff></measure>"
        for bar in bars
    )
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><music><body><mdiv><score>'
        f'<scoreDef keysig="{key}" meter.count="{meter.count}" meter.unit="{meter.unit}"><staffGrp>'
        '<staffDef n="1" lines="5" clef.shape="G" clef.line="2" clef.dis="8" clef.dis.place="below"/>'
        f"</staffGrp></scoreDef><section>{measures}</section></score></mdiv></body></music></mei>"
    )


def _layer(bar: BarOfColumns) -> str:
    groups = {index: group for group in beam_groups(bar) for index in group}
    written_out: list[str] = []
    for index, column in enumerate(bar.columns):
        group = groups.get(index)
        if group and index == group[0]:
            written_out.append("<beam>")
        written_out.append(_column(column))
        if group and index == group[-1]:
            written_out.append("</beam>")
    return "".join(written_out)


def _column(column: Column) -> str:
    length = f'dur="{column.value.base.denominator}" dots="{column.value.dots}"'
    if column.is_rest:
        return "<mRest/>" if column.fills_bar else f"<rest {length}/>"
    notes = []
    for head in column.heads:
        name = head.note.pitch.name
        tie = {(True, True): "m", (True, False): "i", (False, True): "t"}.get((head.is_tied_on, head.is_held))
        notes.append(
            f'<note xml:id="n-{head.note.id}-{head.index}" {length} pname="{name.letter.lower()}"'
            f' oct="{head.note.pitch.octave}" accid.ges="{ACCIDENTALS[name.alter]}"'
            f"{f' tie={chr(34)}{tie}{chr(34)}' if tie else ''}/>"
        )
    return notes[0] if len(notes) == 1 else f"<chord {length}>{''.join(notes)}</chord>"


@pytest.fixture(scope="module")
def verovio() -> Kit:
    import verovio as library

    library.enableLog(library.LOG_OFF)
    kit = library.toolkit()
    kit.setOptions({"breaks": "none", "adjustPageWidth": True, "svgViewBox": True, "svgHtml5": False})
    return kit


def rendered(kit: Kit, score: Score) -> ET.Element:
    """The root of verovio's drawing."""
    kit.setOptions({"inputFrom": "mei"})
    assert kit.loadData(mei(score))
    return ET.fromstring(kit.renderToSVG(1))  # noqa: S314 - made on this machine


def verovio_steps(root: ET.Element) -> dict[str, int]:
    """Note id to the staff step of its head, from the heights in verovio's drawing."""
    staff = next(group for group in root.iter(f"{SVG}g") if group.get("class") == "staff")
    heights = [float(path.get("d", "").split()[1]) for path in staff.findall(f"{SVG}path")][:5]
    top, bottom = min(heights), max(heights)
    steps: dict[str, int] = {}
    for note in root.iter(f"{SVG}g"):
        if note.get("class", "").split()[:1] == ["note"]:
            head = next(group for group in note.iter(f"{SVG}g") if group.get("class") == "notehead")
            place = next(head.iter(f"{SVG}use")).get("transform", "")
            y = float(re.search(r"translate\([-0-9.]+,\s*([-0-9.]+)\)", place)[1])  # type: ignore[index]
            steps[note.get("id", "")] = round((bottom - y) / ((bottom - top) / 8))
    return steps


SINGLE_LINES = (
    ("e6/0 e6/3 e5/2 e5/5 e4/2 e4/5 e3/2 e3/5 e2/3 e2/5 e1/3 e1/5 q1/12 q1/24", "E minor", Meter(4, 4)),
    ("q.4/3 e4/1 s3/0 s3/1 e3/3 q2/1 q2/4 e1/1 e1/4 h1/6", "Bb minor", Meter(4, 4)),
    ("e5/4 e4/1 e4/3 q4/4 e3/1 e3/3 q2/1 q.1/2", "F# major", Meter(6, 8)),
    ("h.5/3 h.5/5 q4/2 h4/4", "C major", Meter(3, 4)),
)


@pytest.mark.parametrize(("text", "key", "meter"), SINGLE_LINES)
def test_every_head_stands_where_verovio_puts_it(verovio: Kit, text: str, key: str, meter: Meter) -> None:
    score = written(text, key=key, meter=meter)
    theirs = verovio_steps(rendered(verovio, score))
    plate = engrave(score, PlateStyle(width_mm=900))
    ours: dict[str, int] = {}
    for head in ink(plate, "notehead"):
        index = sum(1 for known in ours if known.startswith(f"n-{head.note}-"))
        ours[f"n-{head.note}-{index}"] = step(plate, head)
    assert ours == theirs


@pytest.mark.parametrize("seed", [2, 8, 15, 28, 42, 57, 73, 88])
def test_chance_scores_agree_with_verovio_as_well(verovio: Kit, seed: int) -> None:
    """Chords, ties, ledger lines far out; seeds without tuplets, which the MEI above cannot write."""
    score, _ = wandering(seed)
    assert not any(value.tuplet for note in score.notes for value in note.values)
    theirs = verovio_steps(rendered(verovio, score))
    plate = engrave(score, PlateStyle(width_mm=4000))
    assert len(plate.systems) == 1
    ours = sorted((head.note, step(plate, head)) for head in ink(plate, "notehead"))
    assert ours == sorted((name.removeprefix("n-").rsplit("-", 1)[0], at) for name, at in theirs.items())


@pytest.mark.parametrize(("text", "key", "meter"), SINGLE_LINES)
def test_beams_join_the_notes_that_verovio_joins(verovio: Kit, text: str, key: str, meter: Meter) -> None:
    """Each beam of ours spans the stems of just the notes inside verovio's beam."""
    score = written(text, key=key, meter=meter)
    root = rendered(verovio, score)
    theirs = [
        [
            note.get("id", "")
            for note in beam.iter(f"{SVG}g")
            if note.get("class", "").startswith("note ") or note.get("class") == "note"
        ]
        for beam in root.iter(f"{SVG}g")
        if beam.get("class") == "beam"
    ]
    plate = engrave(score, PlateStyle(width_mm=900))
    beams = [each for each in ink(plate, "beam") if isinstance(each, Line)]
    axes = [(middle(head)[0], f"n-{head.note}-0") for head in ink(plate, "notehead")]
    spans = {tuple(name for x, name in axes if beam.x0 - 0.7 < x < beam.x1 + 0.7) for beam in beams}
    outer = [span for span in spans if not any(set(span) < set(other) for other in spans)]
    assert sorted(map(list, outer)) == sorted(theirs)


@pytest.mark.parametrize(("text", "key", "meter"), SINGLE_LINES)
def test_columns_follow_verovios_time_map(verovio: Kit, text: str, key: str, meter: Meter) -> None:
    score = written(text, key=key, meter=meter)
    rendered(verovio, score)
    events = verovio.renderToTimemap({"includeRests": False})
    onsets = {
        name: Fraction(event["qstamp"]).limit_denominator(96) / 4
        for event in events
        for name in event.get("on", ())
    }
    assert onsets == {f"n-{note.id}-0": note.onset for note in score.notes}
    plate = engrave(score, PlateStyle(width_mm=900))
    xs = [middle(head)[0] for head in ink(plate, "fret") if f"n-{head.note}-0" in onsets]
    ordered = sorted(onsets, key=onsets.__getitem__)
    by_note = {f"n-{head.note}-0": middle(head)[0] for head in reversed(ink(plate, "fret"))}
    assert [by_note[name] for name in ordered] == sorted(by_note.values())
    assert xs == sorted(xs)


RHYTHMS = (
    ("8 8 8 8 8 8", Meter(3, 4)),
    ("16 16 8 8 16 16 8. 16 4", Meter(4, 4)),
    ("4 8 8 16 16 16 16 8 16 16", Meter(4, 4)),
    ("8 8 8 16 16 16 16 8", Meter(6, 8)),
    ("8. 16 8 4 8", Meter(6, 8)),
    ("16 16 16 16 8. 16", Meter(2, 4)),
    ("16 8 16 8 8 4", Meter(3, 4)),
)


@pytest.mark.parametrize(("rhythm", "meter"), RHYTHMS)
def test_beams_by_the_beat_are_those_of_the_humdrum_tools(verovio: Kit, rhythm: str, meter: Meter) -> None:
    values = [Value(Fraction(1, int(word.rstrip("."))), word.count(".")) for word in rhythm.split()]
    notes = [f"{word}g" for word in rhythm.split()]
    opening = ["**kern", "*clefG2", f"*M{meter.count}/{meter.unit}"]
    kern = "\n".join([*opening, *notes, "=", "*-", "!!!filter: autobeam", ""])
    verovio.setOptions({"inputFrom": "humdrum"})
    assert verovio.loadData(kern)
    tree = ET.fromstring(verovio.getMEI())  # noqa: S314 - made on this machine
    order = {note: index for index, note in enumerate(tree.iter(f"{MEI}note"))}
    theirs = [tuple(order[note] for note in beam.iter(f"{MEI}note")) for beam in tree.iter(f"{MEI}beam")]
    letters = {1: "w", 2: "h", 4: "q", 8: "e", 16: "s"}
    text = " ".join(f"{letters[value.base.denominator]}{'.' * value.dots}3/0" for value in values)
    bar = read(written(text, meter=meter))[0].voices[0]
    assert list(beam_groups(bar)) == theirs


def test_staff_lines_are_a_space_apart() -> None:
    plate = engrave(written("w3/0"))
    heights = [middle(line)[1] for line in ink(plate, "staff-line")]
    assert [round(low - high, 6) for high, low in pairwise(sorted(heights))] == [1.0] * 4
    assert min(heights) == pytest.approx(staff_top(plate, 0))


def _two_layers(upper: tuple[str, int], lower: tuple[str, int]) -> str:
    """Half a bar of two voices as MEI: a written note name with its octave, and its value, for each."""

    def layer(number: int, name: str, value: int) -> str:
        note = f'<note xml:id="v{number}" dur="{value}" pname="{name[0]}" oct="{name[1]}"/>'
        return f'<layer n="{number}">{note}<rest dur="{value}"/></layer>'

    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><music><body><mdiv><score>'
        '<scoreDef keysig="0" meter.count="2" meter.unit="2"><staffGrp><staffDef n="1" lines="5"'
        ' clef.shape="G" clef.line="2" clef.dis="8" clef.dis.place="below"/></staffGrp></scoreDef><section>'
        f'<measure><staff n="1">{layer(1, *upper)}{layer(2, *lower)}</staff></measure>'
        "</section></score></mdiv></body></music></mei>"
    )


def _head_x(root: ET.Element, note: str) -> float:
    group = next(each for each in root.iter(f"{SVG}g") if each.get("id") == note)
    head = next(each for each in group.iter(f"{SVG}g") if each.get("class") == "notehead")
    place = next(head.iter(f"{SVG}use")).get("transform", "")
    return float(re.findall(r"translate\(([-\d.]+)", place)[0])


@pytest.mark.parametrize(
    ("words", "names", "values"),
    [
        (("h1/0", "h2/1"), ("e4", "c4"), (2, 2)),
        (("h2/3", "h3/5"), ("d4", "c4"), (2, 2)),
        (("h2/1", "h3/5"), ("c4", "c4"), (2, 2)),
        (("h3/5", "h2/5"), ("c4", "e4"), (2, 2)),
        (("h3/5", "h2/3"), ("c4", "d4"), (2, 2)),
        (("q2/1 q2/1", "h3/5"), ("c4", "c4"), (4, 2)),
    ],
    ids=["third", "second", "unison", "crossed", "crossed second", "unison in other values"],
)
def test_the_voice_that_stands_to_the_right_is_the_same(
    verovio: Kit, words: tuple[str, str], names: tuple[str, str], values: tuple[int, int]
) -> None:
    verovio.setOptions({"inputFrom": "mei"})
    assert verovio.loadData(_two_layers((names[0], values[0]), (names[1], values[1])))
    root = ET.fromstring(verovio.renderToSVG(1))  # noqa: S314 - verovio's own text
    theirs = _head_x(root, "v2") - _head_x(root, "v1")
    score = in_two_voices(f"{words[0]} h1/12", f"{words[1]} h5/3")
    plate = engrave(score)
    upper, lower = (next(n for n in score.notes if n.voice == voice and not n.onset) for voice in (1, 2))
    ours = plate.boxes[lower.id][0].x - plate.boxes[upper.id][0].x
    assert (ours > 0.01) - (ours < -0.01) == (theirs > 0) - (theirs < 0)
