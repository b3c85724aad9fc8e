"""The film: what a viewer sees while an exercise is played.

Enter: a score, its plate and fretboard, its time map (from the sound, or from the tempo alone) and a few
words. Leaves: a file. A complete film is H.264 and AAC in MP4 (ISO/IEC 14496-12) with chapters and soft
subtitles; an overlay is VP9 with alpha in WebM, or a lossless picture with alpha in QuickTime; captions are
WebVTT (W3C). Colours are those of ITU-R BT.709.

Lines of music stand still; what was played is exchanged for what comes next. Only the thin playhead moves.

The stages follow each other: ``size`` and ``clock`` say how large and how long, ``strip`` engraves and cuts
the lines, ``path`` says where the playhead is when, ``layout`` and ``stage`` place everything on the
screen, ``scene`` says what is shown at one moment, ``canvas`` holds the pixels, ``encode`` and ``write``
make the file. ``captions`` puts the walk-through into what can be read in its time, ``describe`` and
``pauses`` into what can be heard.
"""
