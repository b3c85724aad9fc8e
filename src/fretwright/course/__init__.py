"""The teacher's files, read.

Enters: a course folder (``course.yaml`` and ``lessons/NN-name.md``, described in
``docs/course-format.md``; prose is CommonMark 0.31, data is YAML 1.2's failsafe schema).
Leaves: a :class:`~fretwright.course.model.Course` whose exercises are scores without fingers, and every
finding that reading brought up. An exercise with a mistake in it is left out; all others are there.
"""
