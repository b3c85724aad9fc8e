"""The check: what a teacher should mend before a student sees it.

Enters: a :class:`~fretwright.course.model.Reading`. Leaves: a :class:`~fretwright.check.check.Checked`
with every finding (those of the reader among them), the exercises that can be built, and their
fingering. The check judges music and teaching; mistakes of syntax are the reader's.

Each module holds the rules of one subject, all of one form: a rule takes a :class:`Case` (one exercise)
or a course and yields findings. Every code is explained in ``docs/findings.md`` with an example that a
test runs.
"""
