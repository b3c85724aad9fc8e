"""Fingering: which finger stops each note, where the hand stands, which way the pick moves.

Enters: a :class:`~fretwright.score.score.Score` whose notes have places, and some fingers that the teacher
fixed; or bare pitches. Leaves: the same score with a finger and a stroke on every note, the cost of each
note in millimetres, and the problems that no hand gets round.

The stages, in the order in which a score passes through them::

    events   notes                -> what starts, is held and is slurred at each moment
    grips    places at one moment -> every way a hand can hold them
    cost     two grips in a row   -> what the second costs, term by term, in millimetres
    search   events               -> the cheapest row of grips of all (exact, by dynamic programming)
    strokes  notes                -> down and up
    problems faults of the grips  -> what cannot be played, in words
    finger   all of these         -> the fingered score
    explain  one note             -> its finger and its cost in words
    places   pitches              -> strings and frets, by the same search

Every cost is a whole number of micrometres while it is searched, so that sums are exact and ties are true
ties; what leaves is in millimetres. Standard library only.
"""
