"""Publishing: a course and what was made of it, as a student gets it.

Enters: a read :class:`~fretwright.course.model.Course` and, for each exercise that could be built, its
:class:`~fretwright.publish.material.ExerciseMaterial`. Leaves: pages, handouts and scripts as text and
bytes; this layer writes no file, and the same input gives the same bytes.

* ``site`` sets the course site (HTML after the WHATWG standard, WCAG 2.2 AA) that works from a folder;
* ``sound_script`` wraps the sound of one rung so that a page can load it without a server;
* ``prose`` turns the teacher's CommonMark into safe HTML;
* ``cautions`` holds the words on strain and loudness that every product shows.
"""
