"""How fast a plate is engraved, beside verovio drawing the same notes.

Both start from a score in memory and end with SVG text, in one process, after one run that is not counted:
ours is given a `Score`, verovio the same notes as MEI text with the beams written out. Verovio (C++) draws
the staff alone; ours draws staff, tab, fingers, strokes and slurs. Times are medians of processor time; the
bars are 15 ms for a plate of four bars, for a piece 32 times as long at most 1.5 times as much a bar, and
1.5 s for 200 bars with techniques on every third note.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from statistics import median

import verovio

from fretwright.engrave.plate import engrave
from fretwright.engrave.reading import read
from fretwright.fingering.finger import finger
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.techniques import USUAL_VIBRATO, Techniques, bend_up
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH
from fretwright.theory.key import Key

BAR_MS = 15.0
ROUNDS = 15
GROWTH = 1.5
LONG = 32
LONG_BARS = 200
LONG_BAR_MS = 1500.0

# A minor pentatonic in fifth position, hammered up and pulled off down.
UP = [(6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5), (3, 7), (2, 5), (2, 8), (1, 5), (1, 8)]


def piece(times: int) -> Score:
    """Four bars of eighths, ``times`` over, with fingers and strokes."""
    neck, key = Neck(), Key.parse("A minor")
    row = (UP + UP[::-1] + UP[:8]) * times
    events: list[Event] = []
    before: tuple[int, int] | None = None
    for string, fret in row:
        attack = Attack.PLUCK
        if before is not None and before[0] == string and before[1] != fret:
            attack = Attack.HAMMER_ON if fret > before[1] else Attack.PULL_OFF
        place = Place(string, fret)
        events.append(Event(EIGHTH, (Head(place, neck.pitch_at(place, key), attack),)))
        before = (string, fret)
    heading = Heading("piece", "Piece", neck, key, TempoMap.constant(80))
    return finger(assemble(heading, into_bars(events))).score


def as_mei(score: Score) -> str:
    """The staff of such a score, its eighths beamed in fours."""
    measures = []
    for bar in (each.voices[0] for each in read(score)):
        notes = [
            f'<note dur="8" pname="{column.heads[0].note.pitch.name.letter.lower()}"'
            f' oct="{column.heads[0].note.pitch.octave}"/>'
            for column in bar.columns
        ]
        beams = f"<beam>{''.join(notes[:4])}</beam><beam>{''.join(notes[4:])}</beam>"
        measures.append(f'<measure><staff n="1"><layer n="1">{beams}</layer></staff></measure>')
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead/><music><body><mdiv>'
        '<score><scoreDef keysig="0" meter.count="4" meter.unit="4"><staffGrp><staffDef n="1" lines="5"'
        ' clef.shape="G" clef.line="2" clef.dis="8" clef.dis.place="below"/></staffGrp></scoreDef>'
        f"<section>{''.join(measures)}</section></score></mdiv></body></music></mei>"
    )


def crowded_piece() -> Score:
    """The long piece with a technique on every third note and a bend on every ninth."""
    score = piece(LONG_BARS // 4)
    ways = (
        Techniques(bend=bend_up(Fraction(2)), vibrato=USUAL_VIBRATO),
        Techniques(palm_mute=True, accent=True),
        Techniques(let_ring=True, staccato=True, ghost=True),
    )
    return score.with_notes(
        tuple(
            note if place % 3 else replace(note, techniques=ways[place // 3 % 3])
            for place, note in enumerate(score.notes)
        )
    )


def median_ms(work: Callable[[], object], rounds: int) -> float:
    """Median processor time after one run that is not counted."""
    work()
    spans = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        spans.append((time.process_time() - start) * 1000)
    return median(spans)


def verovio_ms(score: Score, rounds: int) -> float:
    """The same for verovio, every page drawn."""
    kit, mei = verovio.toolkit(), as_mei(score)

    def draw() -> None:
        kit.loadData(mei)
        for page in range(1, kit.getPageCount() + 1):
            kit.renderToSVG(page)

    return median_ms(draw, rounds)


def main() -> int:
    """Print the figures; 1 where a bar is missed."""
    verovio.enableLog(verovio.LOG_OFF)
    short, long = piece(1), piece(LONG)
    ours, theirs = median_ms(lambda: engrave(short), ROUNDS), verovio_ms(short, ROUNDS)
    ratio = f"verovio, staff alone, {theirs:.1f} ms: ratio {ours / theirs:.2f}"
    print(f"4 bars: {ours:.1f} ms (bar {BAR_MS:.0f} ms); {ratio}")
    ours_long, theirs_long = median_ms(lambda: engrave(long), 3), verovio_ms(long, 3)
    growth = ours_long / (ours * LONG)
    print(
        f"{4 * LONG} bars: {ours_long:.0f} ms; verovio, staff alone, {theirs_long:.0f} ms: "
        f"ratio {ours_long / theirs_long:.2f}"
    )
    print(f"time for each bar, {4 * LONG} bars against 4: {growth:.2f} times as much (bar {GROWTH})")
    plain, crowded = piece(LONG_BARS // 4), crowded_piece()
    plain_ms, crowded_ms = median_ms(lambda: engrave(plain), 3), median_ms(lambda: engrave(crowded), 3)
    print(
        f"{LONG_BARS} bars: {plain_ms:.0f} ms; with techniques {crowded_ms:.0f} ms (bar {LONG_BAR_MS:.0f} ms)"
    )
    return int(ours > BAR_MS or growth > GROWTH or crowded_ms > LONG_BAR_MS)


if __name__ == "__main__":
    sys.exit(main())
