"""Music without an instrument: spelled pitches, intervals, scales and keys.

Names enter as a teacher writes them ("F#", "b3", "B minor pentatonic"); what leaves is small immutable
values that keep their spelling. Pitch follows ISO 16:1975 (A4 is 440 Hz) and scientific octaves
(C4 is MIDI note 60). Standard library only.
"""
