"""The score: what is to be played, in exact musical time.

Enters: notes with a place on the neck and a written value (from the course reader or an import).
Leaves: an immutable :class:`~fretwright.score.score.Score`; a
:class:`~fretwright.score.timeline.Timeline` in seconds once a tempo is chosen.

Musical time is a :class:`fractions.Fraction` of a whole note, counted from the first bar line (a pickup
bar starts at 0 as well and is simply shorter). Nothing after this layer ever sees a teacher's text.
"""
