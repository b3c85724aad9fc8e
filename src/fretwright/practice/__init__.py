"""From what the ear said, day after day, to today's practice and to progress.

Summaries of judged takes, the exercises of the course with their ladders, and the student's wishes enter;
a :class:`~fretwright.practice.plan.Plan` for one day and a :class:`~fretwright.practice.progress.Progress`
leave. Everything is a pure function of what enters: the same history gives the same plan on every device, in
whatever order takes arrived and however often one was sent. No clock is read here; "now" is an argument.

    days        which day a moment belongs to: time zones, late nights, wrong clocks
    history     what enters
    faults      what is to be mended in one take
    standing    where a student stands on an exercise's ladder: the success rule
    recall      when something known is due again (fsrs)
    chosen      which exercise takes which part of the day
    minutes     what fits into the time there is
    words       the sentence that explains each choice
    plan        all of these together
    progress    tempo, evenness and slurs over the weeks
    chart       progress as pictures
"""
