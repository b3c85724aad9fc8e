"""The sound: a score played on a physical model of a plucked string instrument.

Enters: a :class:`~fretwright.score.score.Score` and a tempo. Leaves: 48 kHz stereo samples at -16 LUFS
(ITU-R BS.1770-4) with a time map that is true to the sample, and audio files in open formats.

The stages, in the order in which a note passes through them::

    contacts   touches              -> the same on the audio's clock, string by string, in samples
    gesture    contacts             -> what a string's loop needs, put together from
        lengths    where it is stopped, bent or touched  -> coefficients in time (with slides)
        damping    what lies on it                       -> a factor in time
        feeding    plucks, taps, scrapes, squeaks        -> what is fed in (with excitation)
    strings    gauge, length, pitch -> tension, inharmonicity (sets of them in gauges)
    loop       pitch, decay         -> coefficients of one waveguide loop, tuned exactly
    kernel     coefficients in time -> the string's motion (compiled)
    colour     motion               -> body or pickup, amplifier and cabinet, in stereo (with filters)
    overdrive  motion               -> the same through an amplifier driven hard
    click      beats                -> metronome and count-in
    loudness   samples              -> level and true peak; the final gain
    files      samples              -> .flac .wav .opus .webm .m4a

What an instrument is made of is in instrument, the instruments themselves are in voices. Which touches a
note is made of (a trill, a grace note, a bend's curve) is told by :mod:`fretwright.score.ornaments`.

Nothing here draws a random number without a fixed seed: the same score gives the same bytes.
"""
