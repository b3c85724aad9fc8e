"""The sound: a score played on a physical model of a plucked string instrument.

Enters: a :class:`~fretwright.score.score.Score` and a tempo. Leaves: 48 kHz stereo samples at -16 LUFS
(ITU-R BS.1770-4) with a time map that is true to the sample, and audio files in open formats.

The stages, in the order in which a note passes through them::

    gesture    notes                -> what each hand does to each string, in samples
    strings    gauge, length, pitch -> tension, inharmonicity
    loop       pitch, decay         -> coefficients of one waveguide loop, tuned exactly
    excitation plucks, taps         -> what is fed into the loop
    kernel     coefficients in time -> the string's motion (compiled)
    colour     motion               -> body or pickup, amplifier and cabinet, in stereo (with filters)
    click      beats                -> metronome and count-in
    loudness   samples              -> level and true peak; the final gain
    files      samples              -> .flac .wav .opus .webm .m4a

Nothing here draws a random number without a fixed seed: the same score gives the same bytes.
"""
