"""Scores for and from other programs, by open standards alone.

Leaves: a :class:`~fretwright.score.score.Score` as MusicXML 4.0 (W3C Music Notation Community Group, 2021)
or as a Standard MIDI File (MIDI 1.0 detailed specification), the same bytes each time.
Enters: a file of either kind, as a score whose every note has a place on the neck. What the file says and a
score cannot hold comes as findings, one for each kind of thing, so that nothing is lost in silence.

Two traps of MusicXML: string 1 is the highest, but line 1 of a tab staff is its bottom line; and a clef with
an 8 under it makes no transposition: pitches in the file are the sounding ones.
"""
