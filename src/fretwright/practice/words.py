"""The sentence that explains each choice, and the one that says what to do.

Nothing is promised that research does not show: a sentence says what was heard, what the rule is, and what
comes next, never what practice will bring about.
"""

from datetime import date
from typing import Final

from fretwright.practice.chosen import Case
from fretwright.practice.history import Fault, FaultKind
from fretwright.practice.minutes import REST_MINUTES
from fretwright.practice.standing import FAILED_FOR_BACK, Standing

_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

WARM_UP_AIM: Final = "Play it slowly and easily, quieter than usual, and let the shoulders hang."
REST_AIM: Final = "Put the guitar down, stand up, and let both hands rest."
REST_WHY: Final = (
    f"{REST_MINUTES} minutes in every twenty to thirty: advice of teachers and clinicians. "
    "If anything hurts, tingles or goes numb, stop for today."
)


def warm_up_why(case: Case) -> str:
    """Why this one comes first."""
    if case.standing.is_known:
        return "It sits already, so the hands can wake up on it."
    return "It opens your course and is easy to play slowly."


def fix_aim(bar: int | None, slow_bpm: int, bpm: int) -> str:
    """How to mend one thing."""
    if bar is None:
        return f"Play it at {slow_bpm} and listen to the model in between; then record it at {bpm}."
    before = f"bars {bar - 1} and {bar}" if bar > 1 else "with the bar after it"
    return f"Play bar {bar} alone at {slow_bpm} until it comes, then {before}; then record it at {bpm}."


def fix_why(case: Case) -> str:
    """What the teacher wrote, or what was heard and how often."""
    remark, fault = case.open_remark, case.open_fault
    if remark is not None:
        where = f" on bar {remark.bar}" if remark.bar is not None else ""
        return f"Your teacher wrote{where}: “{_ended(remark.text)}”"
    if fault is None:
        return "Your last take of it did not come clean."
    times = case.times
    when = "your last take" if times == 1 else f"your last {counted(times)} takes"
    return f"In {when} {_fault_words(fault)}. What goes wrong is mended where it stands."


def _fault_words(fault: Fault) -> str:
    several = fault.count != 1
    notes = f"{counted(fault.count)} {'notes' if several else 'note'}"
    were = "were" if several else "was"
    here = f"{notes} in bar {fault.bar} {were}"
    told = {
        FaultKind.PLACE: "everything sounded at another pitch than written: look at capo, tuning, position",
        FaultKind.NOTES: f"{here} wrong or left out",
        FaultKind.SLURS: f"{here} plucked instead of slurred",
        FaultKind.TIME: f"bar {fault.bar} strayed furthest from an even pulse",
        FaultKind.EXTRAS: f"{notes} too many {were} heard",
        FaultKind.DRIFT: "the tempo did not hold from beginning to end",
        FaultKind.TUNE: f"{here} pressed out of tune",
    }
    return told[fault.kind]


def review_aim(bpm: int) -> str:
    """How to look again."""
    return f"Once through slowly, then record it once at {bpm}."


def review_why(case: Case, today: date) -> str:
    """How long ago it was played."""
    last = case.memory.last if case.memory else today
    return f"You know it, and last played it {days_ago(last, today)}: time to see whether it still comes."


def climb_aim(tempos: tuple[int, ...], bpm: int) -> str:
    """How to work at a rung."""
    if len(set(tempos)) == 1:
        return f"Play it at {bpm}, listen to the model, and record two takes at {bpm}."
    return f"Slower and quicker in turn, then record two takes at {bpm}."


def climb_why(case: Case) -> str:
    """What the rule says of the next rung."""
    standing = case.standing
    if not case.takes:
        return "It is new: it comes next in your course."
    return after_take(standing)


def after_take(standing: Standing) -> str:
    """Where the takes so far have led, and what opens the next rung."""
    parts = [_moved(standing), _opens(standing)]
    if standing.is_stuck:
        parts.append("It keeps coming back to this place: ask your teacher about it.")
    return " ".join(part for part in parts if part)


def _moved(standing: Standing) -> str:
    bpm = standing.bpm
    if standing.last_move > 0:
        return f"{bpm} is open."
    if standing.last_move < 0:
        failed = counted(FAILED_FOR_BACK)
        return f"Back to {bpm}, since {failed} takes at {standing.next_bpm} did not come clean."
    if standing.failed_run and standing.at:
        return (
            f"The last take at {bpm} did not come clean; "
            f"a second one in a row would lead back to {standing.rungs[standing.at - 1]}."
        )
    return ""


def _opens(standing: Standing) -> str:
    bpm, following = standing.bpm, standing.next_bpm
    missing = max(1, standing.needed - standing.clean_run)
    takes = f"{counted(missing)}{' more' if standing.clean_run else ''} clean {_takes(missing)}"
    if standing.at_goal:
        return f"It is at its goal of {bpm}: it comes back for review."
    row, opens = (" in a row", "open") if missing > 1 else ("", "opens")
    if following is None:
        return f"{_upper(takes)}{row} at {bpm}, and it is at its goal."
    if standing.falls:
        return f"{following} has led back before, so {takes}{row} at {bpm} {opens} it again."
    return f"{_upper(takes)}{row} at {bpm} {opens} {following}."


def music_aim(bpm: int) -> str:
    """How to play a piece."""
    return f"Play it as for a listener, mistakes and all; record it at {bpm} if you like."


def music_why(case: Case) -> str:
    """Why there is music."""
    if not case.takes:
        return "Music is what the drills are for, and you have not played this one yet."
    return "Music is what the drills are for; this one has rested longest."


def eased_words(case: Case, today: date) -> str:
    """Why an exercise starts lower than it was left."""
    last = case.memory.last if case.memory else today
    return f" It was last played {days_ago(last, today)}, so it starts a rung lower."


def away_words(days: int) -> str:
    """For whoever comes back."""
    return (
        f"Nothing was recorded for {days} days. That is no harm and nothing is owed: what has rested long "
        "starts a rung lower."
    )


FIRST_DAY: Final = "Nothing was recorded before today. This day only gets to know where you stand."


def free_words(minutes: int) -> str:
    """For minutes that no part can use."""
    return (
        f"{counted(minutes).capitalize()} of your minutes {'are' if minutes > 1 else 'is'} not planned: "
        "play what you like, or stop here."
    )


def days_ago(day: date, today: date) -> str:
    """A past day as one says it."""
    days = (today - day).days
    return "today" if days <= 0 else "yesterday" if days == 1 else f"{counted(days)} days ago"


def counted(number: int) -> str:
    """A number in words where it is small."""
    return _NUMBERS[number] if 0 <= number < len(_NUMBERS) else str(number)


def _takes(count: int) -> str:
    return "take" if count == 1 else "takes"


def _ended(text: str) -> str:
    return " ".join(text.split())


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
