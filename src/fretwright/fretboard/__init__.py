"""Music on strings: tunings, the neck and its measures, and scales laid over positions.

A scale and a neck enter; places (string and fret), fingers and distances in millimetres leave. String 1
sounds highest; frets are counted from the capo, as tab counts them. Standard library only.
"""
