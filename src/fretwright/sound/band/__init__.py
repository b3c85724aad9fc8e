"""A backing band: drums, bass and chords that play from the chord names over a score's bars.

Enters: a score whose labels name the chords, a feel, a tempo and a seed. Leaves: one sound for each player
and their mix. Two halves that know little of each other: :mod:`changes`, :mod:`feels`, :mod:`drumming`,
:mod:`bass_line` and :mod:`comping` write what is played in beats; :mod:`drum_kit`, :mod:`bass_guitar` and
:mod:`tine_piano` turn it into sound. Every instrument is computed; no recording is used.
"""
