"""The ear: a recorded take and a score go in, a verdict on every note comes out.

Imports the score and what is below it; never course text and never a stage of teaching.
"""
