"""Plates that show the signs of technique, two voices and charts, as a teacher would ask for them."""

from dataclasses import replace
from fractions import Fraction
from typing import Final

from fretwright.engrave.style import PlateStyle
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.voicing import parse_frets
from fretwright.fretboard.voicings import voicing_of
from fretwright.score.note import Finger, Note
from fretwright.score.score import AirStroke, Label, LabelKind, Score, Writing
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    WIDE_VIBRATO,
    Grace,
    Harmonic,
    HarmonicKind,
    PickingFinger,
    Roll,
    SlideEnd,
    Stroke,
    Techniques,
    Trill,
    bend_and_release,
    bend_up,
    pre_bend_and_release,
)
from fretwright.score.values import SIXTEENTH
from fretwright.theory.chord import Chord
from plate_scores import asked, in_two_voices, words, written

_NECK: Final = Neck()
_FULL: Final = Fraction(2)


def _grace(string: int, fret: int) -> Grace:
    place = Place(string, fret)
    return Grace(place, _NECK.pitch_at(place))


def _held(at: str, name: str, frets: str) -> Label:
    voicing = voicing_of(Chord.parse(name), parse_frets(frets), _NECK)
    return Label(Fraction(at), name, LabelKind.CHORD, voicing)


def _sung(at: str, text: str) -> Label:
    return Label(Fraction(at), text, LabelKind.LYRIC)


BENDS: Final = asked(
    written("q3/7 q3/7 q2/8 q2/8 e2/8 e2/5 e3/7 e3/5 q3/7 qr", key="A minor", strokes=True),
    b1t0s3=Techniques(bend=bend_up(_FULL)),
    b1t1_4s3=Techniques(bend=bend_and_release(_FULL)),
    b1t1_2s2=Techniques(bend=pre_bend_and_release(_FULL)),
    b1t3_4s2=Techniques(bend=bend_up(Fraction(3)), vibrato=WIDE_VIBRATO),
    b2t1_4s3=Techniques(bend=bend_up(Fraction(1, 2))),
    b2t1_2s3=Techniques(vibrato=USUAL_VIBRATO),
)

SLIDES: Final = asked(
    written("q3/5 q3/9s q4/7 q4/9 e3/7 e3/9 q2/8 h1/12", key="A minor"),
    b1t1_2s4=Techniques(slide_in=SlideEnd.BELOW),
    b1t3_4s4=Techniques(shift_slide=True, slide_out=SlideEnd.BELOW),
    b2t0s3=Techniques(graces=(_grace(3, 5),)),
    b2t1_4s2=Techniques(graces=(_grace(2, 5), _grace(2, 6)), accent=True),
    b2t1_2s1=Techniques(trill=Trill(13, _NECK.pitch_at(Place(1, 13)), SIXTEENTH)),
)

TOUCH: Final = asked(
    written("e6/0 e6/0 e6/3 e6/0 q6/5 q5/3 h1/12 q2/5 q3/7 q5/3 q5/3 q4/2 q4/2", key="E minor"),
    **{f"b1t{at}s6": Techniques(palm_mute=True) for at in ("0", "1_8", "1_4", "3_8")},
    b1t1_2s6=Techniques(accent=True),
    b1t3_4s5=Techniques(dead=True),
    b2t0s1=Techniques(harmonic=Harmonic(HarmonicKind.NATURAL, 12), let_ring=True),
    b2t1_2s2=Techniques(harmonic=Harmonic(HarmonicKind.ARTIFICIAL, 17, 5)),
    b2t3_4s3=Techniques(harmonic=Harmonic(HarmonicKind.PINCH, 19, 7), vibrato=USUAL_VIBRATO),
    b3t0s5=Techniques(tremolo=SIXTEENTH),
    b3t1_4s5=Techniques(ghost=True, staccato=True),
    b3t1_2s4=Techniques(staccato=True, rake=Stroke.DOWN),
    b3t3_4s4=Techniques(swell=True),
)


def _fingerpicked() -> Score:
    score = in_two_voices(
        "er e2/1 e3/0 e1/0 er e2/1 e3/0 e1/3 e1/0 e2/1 e3/0 e2/1 h1/0",
        "q5/3 q4/2 q5/3 q4/2 q5/3 q4/2 h5/3",
        labels=[_held("0", "C", "x32010")],
    )
    fingers = {1: PickingFinger.RING, 2: PickingFinger.MIDDLE, 3: PickingFinger.INDEX}

    def plucked(note: Note) -> Note:
        return replace(note, picking_finger=fingers.get(note.string, PickingFinger.THUMB))

    return score.with_notes(tuple(plucked(note) for note in score.notes))


def _strummed() -> Score:
    chords = ("5/3+4/2+3/0+2/1+1/0", "6/3+5/2+4/0+3/0+2/0+1/3")
    row = " ".join(f"q{chord} e{chord} q{chord} e{chord} q{chord}" for chord in chords)
    score = written(row, labels=[_held("0", "C", "x32010"), _held("1", "G", "320003")])
    strokes = (Stroke.DOWN, Stroke.DOWN, Stroke.UP, Stroke.UP, Stroke.DOWN)
    onsets = sorted({note.onset for note in score.notes})
    notes = tuple(
        replace(
            note,
            stroke=strokes[onsets.index(note.onset) % 5],
            techniques=Techniques(
                accent=onsets.index(note.onset) % 5 == 2, dead=onsets.index(note.onset) == 9
            ),
        )
        for note in score.notes
    )
    air = tuple(AirStroke(Fraction(at, 8), Stroke.UP) for at in (1, 9))
    return replace(score, notes=notes, air_strokes=air, writing=Writing.SLASHES)


def _lead_sheet() -> Score:
    bars = 12
    names = {
        0: ("Am", "x02210"), 1: ("F", "133211"), 2: ("C", "x32010"), 3: ("G", "320003"), 4: ("Am", "x02210"),
        5: ("F", "133211"), 6: ("C", "x32010"), 7: ("G", "320003"), 8: ("F", "133211"), 9: ("G", "320003"),
        10: ("Am", "x02210"), 11: ("Am", "x02210"),
    }  # fmt: skip
    labels = [_held(str(at), *held) for at, held in names.items()]
    labels += [_held("15/2", "Em", "022000"), words(Fraction(0), "Verse"), words(Fraction(8), "Chorus")]
    sung = {
        "0": "Slow runs the", "1": "riv-", "3/2": "er", "2": "down", "3": "by_", "4": "nobody",
        "5": "waits for", "6": "me", "8": "Home,", "9": "go", "10": "home",
    }  # fmt: skip
    labels += [_sung(at, text) for at, text in sung.items()]
    score = written(" ".join(["wr"] * bars), key="C major", labels=labels)
    cut = list(score.bars)
    cut[0] = replace(cut[0], opens_repeat=True)
    cut[6] = replace(cut[6], endings=(1,))
    cut[7] = replace(cut[7], closes_repeat=2, endings=(1,))
    return replace(score, rests=(), bars=tuple(cut), writing=Writing.SLASHES)


def _rolled() -> Score:
    """Rolled chords up and down, a fingered small note, and two verses."""
    verses = [
        ("0", "Slow-", 1),
        ("1/2", "ly", 1),
        ("1", "home", 1),
        ("0", "Far", 2),
        ("1/2", "from", 2),
        ("1", "sea", 2),
    ]
    labels = [Label(Fraction(at), text, LabelKind.LYRIC, verse=verse) for at, text, verse in verses]
    score = written(
        "h5/3+4/2+3/1+2/1+1/0 h6/3+4/0+3/0+2/0+1/3 q3/7 q2/5 h4/2+3/2+2/1", key="A minor", labels=labels
    )
    fingers = map(Finger, (3, 2, 1, 1, 0, 3, 0, 0, 0, 4, 3, 1, 2, 3, 1))
    ways = {Fraction(0): Roll.UP, Fraction(1, 2): Roll.DOWN, Fraction(3, 2): Roll.UP}
    notes = tuple(
        replace(note, techniques=Techniques(roll=ways.get(note.onset)), finger=finger)
        for note, finger in zip(score.notes, fingers, strict=True)
    )
    small = Techniques(graces=(replace(_grace(3, 5), finger=Finger.INDEX),))
    return asked(score.with_notes(notes), b2t0s3=small)


SIGNS: Final[dict[str, tuple[Score, PlateStyle]]] = {
    "bends": (BENDS, PlateStyle()),
    "slides": (SLIDES, PlateStyle()),
    "touch": (TOUCH, PlateStyle()),
    "touch-alone": (TOUCH, PlateStyle(staff=False)),
    "fingerpicked": (_fingerpicked(), PlateStyle()),
    "fingerpicked-alone": (_fingerpicked(), PlateStyle(staff=False)),
    "strummed": (_strummed(), PlateStyle(width_mm=120)),
    "lead-sheet": (_lead_sheet(), PlateStyle()),
    "left-handed": (_strummed(), PlateStyle(width_mm=120, left_handed=True)),
    "rolled": (_rolled(), PlateStyle()),
}
"""Name to score and style."""
