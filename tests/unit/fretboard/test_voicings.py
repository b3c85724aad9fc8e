"""Voicings: the chords that every method book prints come first, and no voicing breaks its own rules."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.base.errors import FretboardError, NotationError, UnplayableError
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.reach import LARGE, MEDIUM, SMALL, Hand
from fretwright.fretboard.tuning import STANDARD, TUNINGS, Tuning
from fretwright.fretboard.voicing import frets_text, is_row_of_frets, parse_frets
from fretwright.fretboard.voicing_deal import Deal
from fretwright.fretboard.voicing_grips import measure_for
from fretwright.fretboard.voicing_names import name_of, name_of_frets
from fretwright.fretboard.voicing_sound import wanted_of
from fretwright.fretboard.voicings import voicing_of, voicings
from fretwright.theory.chord import Chord
from fretwright.theory.chord_symbol import COMMON_SYMBOLS
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName, Pitch
from strategies import chords
from voicing_rules import breaks_of, wastes_an_open_string

PRINTED = {
    # Frets, usual fingers and notes from the lowest string up, as method books print them: common practice,
    # no source. Where several fingerings are usual, all of them.
    "C": ("x32010", {"x32010"}, "C E G C E"),
    "A": ("x02220", {"x01230", "x02130", "x01110"}, "A E A C# E"),
    "G": ("320003", {"210003", "320004"}, "G B D G B G"),
    "E": ("022100", {"023100"}, "E B E G# B E"),
    "D": ("xx0232", {"xx0132"}, "D A D F#"),
    "Am": ("x02210", {"x02310"}, "A E A C E"),
    "Em": ("022000", {"023000", "012000"}, "E B E G B E"),
    "Dm": ("xx0231", {"xx0231"}, "D A D F"),
    "F": ("133211", {"134211"}, "F C F A C F"),
    "Bm": ("x24432", {"x13421"}, "B F# B D F#"),
    "Bb": ("x13331", {"x12341", "x13331"}, "Bb F Bb D F"),
    "Fm": ("133111", {"134111"}, "F C F Ab C F"),
    "A7": ("x02020", {"x02030", "x01020"}, "A E G C# E"),
    "E7": ("020100", {"020100"}, "E B D G# B E"),
    "D7": ("xx0212", {"xx0213"}, "D A C F#"),
    "G7": ("320001", {"320001"}, "G B D G B F"),
    "C7": ("x32310", {"x32410"}, "C E Bb C E"),
    "B7": ("x21202", {"x21304"}, "B D# A B F#"),
    "Fmaj7": ("xx3210", {"xx3210"}, "F A C E"),
    "Cmaj7": ("x32000", {"x32000"}, "C E G B E"),
    "E5": ("022xxx", {"012xxx", "011xxx"}, "E B E"),
}
ALSO_FIRST = {
    # Further first voicings that books agree on (common practice, no source).
    "F#m": "244222", "Cm": "x35543", "F#": "244322", "Bbm": "x13321", "Am7": "x02010", "Em7": "020000",
    "Dm7": "xx0211", "Bm7": "x20202", "F#m7": "242222", "Gm7": "353333", "Gmaj7": "320002",
    "Amaj7": "x02120", "Dmaj7": "xx0222", "Emaj7": "021100", "E7#9": "020103", "Caug": "x32110",
    "Dsus4": "xx0233", "Asus2": "x02200", "A7sus4": "x02030", "Fm7": "131111", "F7": "131211",
    "Bb7": "x13131", "G5": "355xxx", "A5": "x022xx", "C/G": "332010", "G/B": "x20003", "C/D": "xx0010",
    "Am/G": "302210", "Bm7b5": "x20201", "Cadd9": "x30010",
}  # fmt: skip
AMONG_THE_FIRST = {
    "Gm": "355333",
    "C#m": "x46654",
    "G#m": "466444",
    "B": "x24442",
    "Eb": "xx1343",
    "D/F#": "200232",
}

ROOTS = [NoteName.parse(name) for name in ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]]


@pytest.mark.parametrize("symbol", PRINTED)
def test_the_printed_voicing_comes_first_with_its_fingers(symbol: str) -> None:
    frets, fingerings, notes = PRINTED[symbol]
    first = voicings(Chord.parse(symbol))[0]
    assert first.text == frets
    assert first.fingers_text in fingerings
    others = {grip.text(first.frets) for grip in first.alternatives}
    assert fingerings <= {first.fingers_text} | others
    assert " ".join(str(pitch.name) for pitch in first.pitches) == notes


@pytest.mark.parametrize("symbol", ALSO_FIRST)
def test_further_usual_voicings_come_first(symbol: str) -> None:
    assert voicings(Chord.parse(symbol))[0].text == ALSO_FIRST[symbol]


@pytest.mark.parametrize("symbol", AMONG_THE_FIRST)
def test_other_usual_voicings_are_among_the_first(symbol: str) -> None:
    assert AMONG_THE_FIRST[symbol] in [voicing.text for voicing in voicings(Chord.parse(symbol))[:5]]


@pytest.mark.parametrize("fret", range(1, 11))
def test_the_barre_shapes_of_e_and_e_minor_keep_their_fingers_along_the_neck(fret: int) -> None:
    for pattern, fingers in (([0, 2, 2, 1, 0, 0], "134211"), ([0, 2, 2, 0, 0, 0], "134111")):
        frets = tuple(fret + above for above in reversed(pattern))
        assert voicing_of(Chord.parse("C"), frets).fingers_text == fingers


@settings(max_examples=60, deadline=None)
@given(chords(), st.sampled_from([SMALL, MEDIUM, LARGE]), st.integers(0, 5), st.sampled_from(sorted(TUNINGS)))
def test_no_voicing_breaks_a_rule(chord: Chord, hand: Hand, capo: int, tuning: str) -> None:
    try:
        found = voicings(chord, Neck(TUNINGS[tuning], capo=capo), hand=hand, count=6)
    except UnplayableError:
        return  # seven notes on four strings
    breaks = [breaks_of(voicing, hand) for voicing in found]
    if not chord.is_slash and all("another bass" in each for each in breaks):
        for each in breaks:
            each.remove("another bass")  # offered only where no voicing has its root in the bass
    assert breaks == [[]] * len(found), [voicing.text for voicing in found]
    costs = [round(v.ease.total, 5) for v in found]
    assert costs == sorted(costs)
    assert len({v.frets for v in found}) == len(found)


@settings(max_examples=40, deadline=None)
@given(chords(), st.integers(-5, 5))
def test_transposing_the_tuning_transposes_the_voicings(chord: Chord, semitones: int) -> None:
    steps = {0: 0, 1: 1, 2: 1, 3: 2, 4: 2, 5: 3}[abs(semitones)] * (1 if semitones >= 0 else -1)
    interval = Interval(steps, semitones)
    moved = Tuning.of_pitches(pitch.transposed(interval) for pitch in STANDARD.open_pitches)
    here = voicings(chord)
    there = voicings(chord.transposed(interval), Neck(moved))
    assert [(v.frets, v.fingers, v.ease) for v in here] == [(v.frets, v.fingers, v.ease) for v in there]


@settings(max_examples=30, deadline=None)
@given(chords(), st.integers(1, 5))
def test_a_capo_sounds_the_same_grips_higher(chord: Chord, capo: int) -> None:
    names = {1: "m2", 2: "M2", 3: "m3", 4: "M3", 5: "P4"}
    behind = voicings(chord.transposed(Interval.parse(names[capo])), Neck(capo=capo), count=3)
    for voicing in behind:
        plain = [pitch.midi - capo for pitch in voicing.pitches]
        assert plain == [Neck().midi_at(place) for place in voicing.places]


@pytest.mark.parametrize("root", ROOTS, ids=str)
@pytest.mark.parametrize("symbol", ["", "m", "7", "m7", "maj7", "5"])
def test_a_voicing_of_a_chord_is_named_so_first(root: NoteName, symbol: str) -> None:
    for voicing in voicings(Chord.of(root, symbol)):
        named = name_of(voicing.places, voicing.neck)[0].chord
        assert (named.root.pitch_class, named.quality.symbol, named.is_slash) == (
            root.pitch_class,
            symbol,
            False,
        )


def test_variants_of_easier_voicings_are_listed_only_on_request() -> None:
    plain = [voicing.text for voicing in voicings(Chord.parse("C"))]
    full = [voicing.text for voicing in voicings(Chord.parse("C"), count=60, variants=True)]
    assert plain[0] == full[0] == "x32010"
    assert {"x35553", "8-10-10-9-8-8"} <= set(plain)  # the two barre chords of every method book
    assert {"x32013", "x3x010"} <= set(full) - set(plain)
    assert plain == [text for text in full if text in plain]
    assert "xx3211" in [voicing.text for voicing in voicings(Chord.parse("F"))]


def test_a_smaller_hand_finds_the_same_or_fewer() -> None:
    for symbol in ("C13", "Eb", "G#m7b5"):
        small = {v.frets for v in voicings(Chord.parse(symbol), hand=SMALL, count=400, variants=True)}
        large = {v.frets for v in voicings(Chord.parse(symbol), hand=LARGE, count=1200, variants=True)}
        assert small <= large


@settings(max_examples=40, deadline=None)
@given(chords())
def test_a_voicing_costs_what_it_was_ranked_by(chord: Chord) -> None:
    neck = Neck()
    deal = Deal(neck, measure_for(neck, MEDIUM), wanted_of(chord, neck), 8)
    assert [each.cost_mm for each in deal.found] == pytest.approx(
        [v.ease.total for v in voicings(chord, variants=True)]
    )


@pytest.mark.parametrize("symbol", ["C", "F#m7b5", "G5", "C/D"])
def test_the_search_finds_what_trying_everything_finds(symbol: str) -> None:
    """Against the plain enumeration of every row of frets on a short neck, priced one by one."""
    chord = Chord.parse(symbol)
    neck = Neck(Tuning.parse("D3 G3 B3 E4"), frets=6)
    found = voicings(chord, neck, count=500, variants=True)
    everything = []
    for frets in product([None, *range(7)], repeat=4):
        if sum(fret is not None for fret in frets) < 3:
            continue
        try:
            voicing = voicing_of(chord, frets, neck)
        except UnplayableError:
            continue
        if not breaks_of(voicing, MEDIUM) and not wastes_an_open_string(voicing):
            everything.append(voicing)
    everything.sort(key=lambda v: v.ease.total)
    assert {v.text for v in found} == {v.text for v in everything}
    assert [round(v.ease.total, 4) for v in found] == [round(v.ease.total, 4) for v in everything]


def test_fingers_of_a_teachers_own_are_kept_and_priced() -> None:
    chord, frets = Chord.parse("D/F#"), parse_frets("200232")
    thumbed = voicing_of(chord, frets, fingers=(2, 3, 1, 0, 0, 5))
    assert thumbed.fingers_text == "T00132"
    assert thumbed.ease.terms["weak_finger"] == 13.0
    assert voicing_of(chord, frets).fingers_text == "100243"
    with pytest.raises(UnplayableError, match="these fingers"):
        voicing_of(chord, frets, fingers=(1, 1, 2, 0, 0, 3))


def test_the_thumb_is_used_only_where_it_is_allowed() -> None:
    frets = parse_frets("1x3211")
    assert "T" not in voicing_of(Chord.parse("F"), frets).fingers_text
    grips = voicing_of(Chord.parse("F"), frets, thumb=True)
    assert any("T" in text for text in [grips.fingers_text, *(g.text(frets) for g in grips.alternatives)])


@pytest.mark.parametrize(
    ("frets", "problem"),
    [("x3201", "5 strings"), ("xxxxxx", "without a note"), ("x-30-2-0-1-0", "leaves the neck")],
)
def test_impossible_frets_are_refused(frets: str, problem: str) -> None:
    with pytest.raises(FretboardError, match=problem):
        voicing_of(Chord.parse("C"), parse_frets(frets))


def test_what_no_hand_can_hold_is_said() -> None:
    with pytest.raises(UnplayableError, match="1-x-9-0-0-12"):
        voicing_of(Chord.parse("C"), parse_frets("1-x-9-0-0-12"))
    with pytest.raises(FretboardError, match="No voicing"):
        voicings(Chord.parse("C"), count=0)
    with pytest.raises(UnplayableError, match="cannot be held"):
        voicings(Chord.parse("C7b9b13/F#"), Neck(Tuning.parse("bass")))


@pytest.mark.parametrize("text", ["x32010", "x-10-12-12-11-10", "0003"])
def test_frets_are_read_and_written_alike(text: str) -> None:
    assert frets_text(parse_frets(text)) == text
    assert is_row_of_frets(text)
    assert not is_row_of_frets("Bm")


@pytest.mark.parametrize("text", ["", "x3201q", "x-100-2", "-3"])
def test_what_is_no_row_of_frets_is_refused(text: str) -> None:
    with pytest.raises(NotationError, match="row of frets"):
        parse_frets(text)


def test_names_of_frets_are_ranked_with_reasons() -> None:
    best, second, *_ = name_of_frets(parse_frets("x02010"))
    assert (str(best.chord), str(second.chord)) == ("Am7", "C/A")
    assert best.reasons == ("the root is in the bass",)
    with pytest.raises(FretboardError, match="Silence"):
        name_of_frets(parse_frets("xxxxxx"))


def test_the_lowest_pitch_is_the_bass_on_whatever_string() -> None:
    gcea = Neck(TUNINGS["GCEA"])
    first = voicings(Chord.parse("C"), gcea)[0]
    assert first.text == "0003"
    assert str(name_of(first.places, gcea)[0].chord) == "C"
    assert [str(pitch) for pitch in first.pitches] == [str(Pitch.parse(p)) for p in ("G4", "C4", "E4", "C5")]


def test_every_common_chord_can_be_held_on_a_guitar() -> None:
    for symbol in COMMON_SYMBOLS:
        assert voicings(Chord.parse(f"A{symbol}"), count=1)
