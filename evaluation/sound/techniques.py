"""Each question about a technique, answered for every voice as rows of a table and a verdict."""

from collections.abc import Callable
from fractions import Fraction
from itertools import product

import numpy as np
from evaluation.sound import measure, tracks
from evaluation.sound.answer import Answer
from evaluation.sound.material import Asked, midi_at, mono, one, played, strings_of, undriven
from evaluation.sound.measure import RATE_HZ, Floats

from fretwright.base.units import midi_to_hz
from fretwright.score.ornaments import ACCENT_FORCE, GHOST_FORCE
from fretwright.score.score import Score
from fretwright.score.techniques import (
    Bend,
    Harmonic,
    HarmonicKind,
    SlideEnd,
    Stroke,
    Techniques,
    Vibrato,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, HALF, QUARTER
from fretwright.sound.instrument import Voice
from fretwright.sound.lengths import PALM_T60
from fretwright.sound.loudness import integrated_lufs, true_peak_dbtp
from fretwright.sound.render import Sound, render, sound_strings
from fretwright.sound.voices import OVERDRIVEN_ELECTRIC, VOICES


def _some_strings(voice: Voice) -> tuple[int, ...]:
    """The highest, the lowest and one between."""
    count = len(strings_of(voice))
    return (1, (count + 1) // 2, count)


def _db(value: float) -> str:
    return f"{value:+.1f}"


# ---------------------------------------------------------------------------------------------------------
# Curves of pitch

_BENDS: tuple[tuple[str, Bend], ...] = (
    ("half step", bend_up(Fraction(1))),
    ("whole step", bend_up(Fraction(2))),
    ("step and a half", bend_up(Fraction(3))),
    ("quarter tone", bend_up(Fraction(1, 2))),
    ("bend and release", bend_and_release(Fraction(2))),
    ("pre-bend", pre_bend(Fraction(2))),
    ("pre-bend and release", pre_bend_and_release(Fraction(2))),
)
_LENGTH_S = 4.0


def _bent_hz(bend: Bend, stopped_hz: float) -> Floats:
    """The written course of a bend over a note of four seconds, straight between its corners."""
    times_s = np.arange(round(_LENGTH_S * RATE_HZ)) / RATE_HZ
    corners_s = [float(point.at) * _LENGTH_S for point in bend.points]
    semitones = np.interp(times_s, corners_s, [float(point.semitones) for point in bend.points])
    course: Floats = stopped_hz * 2.0 ** (semitones / 12)
    return course


def bends() -> Answer:
    """Pitch of a bent note against the written curve, all along it; what is driven is heard clean."""
    rows, worst = [], 0.0
    for voice, (name, bend) in product(VOICES.values(), _BENDS):
        off = []
        for string in _some_strings(voice):
            expected_hz = _bent_hz(bend, midi_to_hz(midi_at(voice, string, 7)))
            note = one(undriven(voice), Asked(string, 7, Techniques(bend=bend)))[: len(expected_hz)]
            cents = tracks.deviation_cents(note, expected_hz)
            # Its first tenth of a second is the pluck, its last the window's half.
            inside = cents[round(0.1 * RATE_HZ) : round(3.9 * RATE_HZ)]
            off.append(max(inside.min(), inside.max(), key=abs))
        worst = max(worst, *map(abs, off))
        rows.append((voice.name.value, name, *(f"{value:+.2f}" for value in off)))
    return Answer(
        "Bends",
        "within ±3 cents of the written curve at every moment from 0.1 s on",
        worst <= 3.0,
        f"largest deviation {worst:.2f} cents",
        ("voice", "bend", "high string, cents", "middle", "low"),
        tuple(rows),
    )


_VIBRATOS = (
    Vibrato(4.5, 20.0),
    Vibrato(5.5, 40.0),
    Vibrato(5.0, 100.0),
    Vibrato(7.0, 60.0),
    Vibrato(8.0, 40.0),
)


def vibratos() -> Answer:
    """Rate and width of a vibrato; what is driven is heard clean."""
    rows, worst = [], 0.0
    for voice, vibrato in product(VOICES.values(), _VIBRATOS):
        cells = []
        for string in _some_strings(voice):
            note = one(undriven(voice), Asked(string, 7, Techniques(vibrato=vibrato)))
            found = tracks.swing(
                note[round(0.3 * RATE_HZ) : round(2.8 * RATE_HZ)], midi_to_hz(midi_at(voice, string, 7))
            )
            rate, width = found.rate_hz / vibrato.rate_hz - 1, found.width_cents / vibrato.width_cents - 1
            worst = max(worst, abs(rate), abs(width))
            cells.append(f"{100 * rate:+.1f}, {100 * width:+.1f}")
        rows.append((voice.name.value, f"{vibrato.rate_hz:g} Hz, {vibrato.width_cents:g} cents", *cells))
    return Answer(
        "Vibrato",
        "rate and width within ±5 % of what is written",
        worst <= 0.05,
        f"largest deviation {100 * worst:.1f} %",
        ("voice", "vibrato", "high string: rate, width, %", "middle", "low"),
        tuple(rows),
    )


def slides() -> Answer:
    """Where slides from and to no particular fret arrive."""
    rows, worst = [], 0.0
    for voice, end in product(VOICES.values(), SlideEnd):
        side = -4 if end is SlideEnd.BELOW else 4
        for string in _some_strings(voice)[:2]:
            stopped_hz = midi_to_hz(midi_at(voice, string, 9))
            into = one(voice, Asked(string, 9, Techniques(slide_in=end)))
            away = one(voice, Asked(string, 9, Techniques(slide_out=end)))
            arrives = _cents(into[round(0.2 * RATE_HZ) : round(0.6 * RATE_HZ)], stopped_hz)
            leaves = _cents(away[round(3.4 * RATE_HZ) : round(3.68 * RATE_HZ)], stopped_hz)
            ends = _cents(away[round(3.95 * RATE_HZ) : round(4.03 * RATE_HZ)], stopped_hz * 2 ** (side / 12))
            worst = max(worst, abs(arrives), abs(leaves), abs(ends))
            cells = (f"{value:+.1f}" for value in (arrives, leaves, ends))
            rows.append((voice.name.value, end.value, str(string), *cells))
    return Answer(
        "Slides",
        "the note after a slide in, that before a slide out and the latter's last fret within ±5 cents",
        worst <= 5.0,
        f"largest deviation {worst:.2f} cents",
        ("voice", "from or to", "string", "arrived, cents", "before it left", "last fret"),
        tuple(rows),
    )


def _cents(signal: Floats, near_hz: float) -> float:
    return float(1200 * np.log2(measure.peak_hz(signal, near_hz, 0.025) / near_hz))


# ---------------------------------------------------------------------------------------------------------
# Harmonics

_NODES = {12: 2, 7: 3, 19: 3, 5: 4, 24: 4, 4: 5, 9: 5, 16: 5, 3: 6}
"""Frets above the stopped end and the partial that has a node near them: n at 12 log2(n / (n - m))."""


def harmonics() -> Answer:
    """Pitch of harmonics, and how much of the stopped string's own first partial is left."""
    rows, worst, loudest = [], 0.0, -200.0
    kinds = ((HarmonicKind.NATURAL, 0), (HarmonicKind.ARTIFICIAL, 5), (HarmonicKind.PINCH, 7))
    for voice, (kind, stopped) in product(VOICES.values(), kinds):
        off, left = [], []
        for string, (above, partial) in product(_some_strings(voice), _NODES.items()):
            stopped_hz = midi_to_hz(midi_at(voice, string, stopped))
            asked = Techniques(harmonic=Harmonic(kind, stopped + above, stopped))
            note = one(voice, Asked(string, stopped, asked, HALF))[
                round(0.05 * RATE_HZ) : round(1.05 * RATE_HZ)
            ]
            off.append(_cents(note, partial * stopped_hz))
            left.append(_peak_db(note, stopped_hz) - _peak_db(note, partial * stopped_hz))
        worst, loudest = max(worst, *map(abs, off)), max(loudest, *left)
        rows.append((voice.name.value, kind.value, f"{max(off, key=abs):+.2f}", f"{max(left):.0f}"))
    return Answer(
        "Harmonics",
        "within ±2 cents of the stopped pitch times the partial; the stopped pitch itself 40 dB under it",
        worst <= 2.0 and loudest <= -40.0,
        f"largest deviation {worst:.2f} cents; own pitch at most {loudest:.0f} dB",
        ("voice", "kind", "largest of 27, cents", "own pitch, dB"),
        tuple(rows),
    )


def _peak_db(second: Floats, hz: float) -> float:
    """Level of what lies within 3 Hz of a frequency in one second of sound."""
    spectrum = np.abs(np.fft.rfft(second * np.blackman(len(second)), RATE_HZ))
    return float(20 * np.log10(spectrum[round(hz) - 3 : round(hz) + 4].max() + 1e-12))


# ---------------------------------------------------------------------------------------------------------
# Muting, loudness and length


def palm_mutes() -> Answer:
    """T60 under the palm against that of the free string."""
    rows, worst = [], 0.0
    for voice in VOICES.values():
        if voice is OVERDRIVEN_ELECTRIC:
            # Its decay cannot be read off behind the drive; its strings are those of the clean one.
            continue
        for string in _some_strings(voice):
            hz = midi_to_hz(midi_at(voice, string, 2))
            # In one line, so that the final gain is that of the free note and no limiter is needed.
            line = [[Asked(string, 2, Techniques(palm_mute=mute))] for mute in (False, True)]
            sound = render(played(voice, line), voice=voice)
            starts = [round(note.onset_s * RATE_HZ) for note in sound.time_map]
            notes = [mono(sound)[start : start + round(3.9 * RATE_HZ)] for start in starts]
            free, muted = (measure.t60_s(note, hz, 20.0) for note in notes)
            ratio = muted / free
            worst = max(worst, abs(ratio / PALM_T60 - 1))
            rows.append((voice.name.value, str(string), f"{free:.2f}", f"{muted:.3f}", f"{ratio:.3f}"))
    return Answer(
        "Palm mute",
        f"T60 {PALM_T60:g} times the free string's, within 15 %",
        worst <= 0.15,
        f"largest deviation {100 * worst:.0f} %",
        ("voice", "string", "T60 free, s", "muted, s", "ratio"),
        tuple(rows),
    )


def dead_notes() -> Answer:
    """Whether a dead note has a pitch."""
    rows, steadiest, weakest = [], 0.0, 1.0
    for voice, string in product(VOICES.values(), (1, 3, 4)):
        notes = [one(voice, Asked(string, 9, Techniques(dead=is_dead), QUARTER)) for is_dead in (True, False)]
        dead, plain = (tracks.periodicity(note[: round(0.12 * RATE_HZ)]) for note in notes)
        steadiest, weakest = max(steadiest, dead), min(weakest, plain)
        rows.append((voice.name.value, str(string), f"{dead:.2f}", f"{plain:.2f}"))
    return Answer(
        "Dead notes",
        "the first 120 ms are alike by at most 0.6 at any lag of 1 to 17 ms; a plain note's by at least 0.7",
        steadiest <= 0.6 and weakest >= 0.7,
        f"at most {steadiest:.2f}; plain notes at least {weakest:.2f}",
        ("voice", "string", "dead", "plain"),
        tuple(rows),
    )


def dynamics() -> Answer:
    """Level of accented and ghost notes beside a plain one."""
    rows, worst = [], 0.0
    wanted = {"accent": 20 * np.log10(ACCENT_FORCE), "ghost": 20 * np.log10(GHOST_FORCE)}
    for voice in VOICES.values():
        if voice is OVERDRIVEN_ELECTRIC:
            # An overdriven stage evens out levels: that is what it is for.
            continue
        for string in _some_strings(voice):
            asked = [Techniques(), Techniques(accent=True), Techniques(ghost=True)]
            line = [[Asked(string, 5, each, QUARTER)] for each in asked]
            sound = render(played(voice, line), voice=voice)
            hz = midi_to_hz(midi_at(voice, string, 5))
            plain, accent, ghost = (_level_of(mono(sound), note.onset_s, hz) for note in sound.time_map)
            found = {"accent": accent - plain, "ghost": ghost - plain}
            worst = max(worst, *(abs(found[name] - wanted[name]) for name in wanted))
            rows.append((voice.name.value, str(string), _db(found["accent"]), _db(found["ghost"])))
    return Answer(
        "Accents and ghost notes",
        f"{wanted['accent']:+.1f} and {wanted['ghost']:+.1f} dB beside a plain note, within 1 dB",
        worst <= 1.0,
        f"largest deviation {worst:.1f} dB",
        ("voice", "string", "accent, dB", "ghost, dB"),
        tuple(rows),
    )


def _level_of(signal: Floats, onset_s: float, hz: float) -> float:
    """Level of the fundamental from 50 to 250 ms after an onset."""
    piece = signal[round((onset_s + 0.05) * RATE_HZ) : round((onset_s + 0.25) * RATE_HZ)]
    time_s = np.arange(len(piece)) / RATE_HZ
    value = np.sum(piece * np.hanning(len(piece)) * np.exp(-2j * np.pi * hz * time_s))
    return float(20 * np.log10(np.abs(value)))


def swells() -> Answer:
    """How loud a swelled note is at its start, against its loudest."""
    rows, loudest = [], -200.0
    for voice, string in product(VOICES.values(), (1, 4)):
        note = one(voice, Asked(string, 5, Techniques(swell=True)))
        frames = note[: 3 * RATE_HZ].reshape(-1, RATE_HZ // 50)
        levels = [measure.rms_db(frame) for frame in frames]
        start = levels[0] - max(levels)
        loudest = max(loudest, start)
        rows.append((voice.name.value, str(string), f"{start:.0f}", f"{0.02 * int(np.argmax(levels)):.2f}"))
    return Answer(
        "Volume swells",
        "first 20 ms at least 30 dB under the loudest",
        loudest <= -30.0,
        f"first 20 ms at most {loudest:.0f} dB",
        ("voice", "string", "first 20 ms, dB", "loudest after, s"),
        tuple(rows),
    )


def lengths() -> Answer:
    """What is left in the second half of a staccato note's time, and of a string that is let ring."""
    rows, short, ringing = [], -200.0, 0.0
    for voice in VOICES.values():
        flags = (Techniques(), Techniques(staccato=True), Techniques(let_ring=True))
        plain, staccato, let_ring = (_second_half(voice, asked) for asked in flags)
        short, ringing = max(short, staccato - plain), min(ringing, let_ring - plain)
        rows.append((voice.name.value, f"{staccato - plain:.0f}", _db(let_ring - plain)))
    return Answer(
        "Staccato and let ring",
        "200 ms after half of its time a staccato note is 40 dB under a plain one; one that rings is as loud",
        short <= -40.0 and ringing >= -1.0,
        f"staccato at most {short:.0f} dB, let ring at least {ringing:+.1f} dB",
        ("voice", "staccato, dB", "let ring, dB"),
        tuple(rows),
    )


def _second_half(voice: Voice, asked: Techniques) -> float:
    note = one(voice, Asked(2, 3, asked, HALF))
    return measure.rms_db(note[round(1.2 * RATE_HZ) : round(1.9 * RATE_HZ)])


# ---------------------------------------------------------------------------------------------------------
# Chords

_CHORD = ((6, 3), (5, 2), (4, 0), (3, 0), (2, 0), (1, 3))


def chords() -> Answer:
    """Loudness and peak of strummed chords, and how much the limiter has to take off."""
    rows, reached = [], True
    for voice in VOICES.values():
        held = [place for place in _CHORD if place[0] in strings_of(voice)]
        bar = [
            [
                Asked(
                    string,
                    fret,
                    Techniques(accent=number == 0),
                    EIGHTH,
                    stroke=(Stroke.DOWN, Stroke.UP)[number % 2],
                )
                for string, fret in held
            ]
            for number in range(8)
        ]
        score = played(voice, bar * 2, 100.0)
        sound = render(score, voice=voice)
        loudness, peak = integrated_lufs(sound.samples), true_peak_dbtp(sound.samples)
        dip = _deepest_dip(score, sound, voice)
        reached &= abs(loudness + 16) <= 0.1 and peak <= -1.0 and dip >= -1.0
        rows.append((voice.name.value, f"{loudness:.2f}", f"{peak:.2f}", f"{dip:+.2f}"))
    return Answer(
        "Strummed chords",
        "-16 LUFS, at most -1 dBTP, and no tenth of a second turned down by more than 1 dB",
        reached,
        "all inside" if reached else "some outside",
        ("voice", "LUFS", "dBTP", "most turned down, dB"),
        tuple(rows),
    )


def _deepest_dip(score: Score, sound: Sound, voice: Voice) -> float:
    """How far the limiter takes a tenth of a second below the gain of the rest, in dB."""
    starts = round(sound.music_starts_s * RATE_HZ)
    raw = sound_strings(score.neck, timeline(score), starts, len(sound.samples), voice)
    length = round((sound.music_ends_s - sound.music_starts_s) * RATE_HZ)
    size = RATE_HZ // 10
    gains = [
        measure.rms_db(sound.samples[at : at + size].astype(float))
        - measure.rms_db(raw[at : at + size].astype(float))
        for at in range(starts, starts + length - size, size)
    ]
    return float(min(gains) - np.median(gains))


TECHNIQUES: tuple[Callable[[], Answer], ...] = (
    bends,
    vibratos,
    slides,
    harmonics,
    palm_mutes,
    dead_notes,
    dynamics,
    swells,
    lengths,
    chords,
)
