"""Engraving: a score enters, a plate leaves; also fretboard diagrams and the walk-through in words.

Enters: a :class:`~fretwright.score.score.Score`, fingers and strokes already found.
Leaves: SVG text whose every sign and letter is an outline, and the boxes of its notes in millimetres.

A plate is made in stages, each a small module (``plate.py`` calls them in order)::

    reading, beaming, pitches     what is written: moments, columns, voices, shared beams, accidentals
    heads, chords, beams          which head a note has, how a column and a stem are built
    voices, beside, beside_room   two voices at a moment, what stands beside it
    shapes, bars                  a moment in full, and the room that a bar needs
    spacing, breaking, placing    one force stretches all springs; systems are broken at the least badness
    staff, tab, rhythm            what stands on the lines of one system
    clearance, tremolo, taken     how beams, flags, rests and strokes give way; what is in the way of an arc
    asides, tab_bends             grace notes, slides from nowhere, rakes; the arrows of bends
    bonds, arcs, tab_arcs         ties, slurs and slides; an arc over a system break has two parts
    grace_arcs, articulations     small slurs; dots and accents
    tuplets, barlines, openings   brackets, bar lines, clefs and signatures
    rows, strokes, signs          fingers, words, endings; the picking hand; waves, spans, hairpins
    chord_rows, small_diagrams    chord names over their diagrams
    verses, lyrics                sung words
    skyline, systems, stacking    marks stand outside the ink under them; systems as near as they can
    ink, glyphs, outlines, svg    typed primitives, SMuFL outlines, text as outlines, the picture itself
    overlaps                      the proof-reader: which ink runs into which

Lengths inside are staff spaces, y downwards. Signs, their origins and their names follow SMuFL 1.4; the
rules of setting are those of the engraver's trade (common practice, no source, unless a module names one).
"""
