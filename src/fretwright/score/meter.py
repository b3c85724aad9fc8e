"""Time signatures and the ranks of the places inside a bar."""

from dataclasses import dataclass
from fractions import Fraction

from fretwright.base.errors import ScoreError
from fretwright.score.values import BASES, Value, value_of

_COMPOUND_UNITS = (8, 16)


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature, such as 4/4 or 6/8."""

    count: int
    """Upper figure."""
    unit: int
    """Lower figure: 4 for quarters, 8 for eighths."""

    def __post_init__(self) -> None:
        if not 1 <= self.count <= 32 or Fraction(1, self.unit) not in BASES:
            message = f"{self.count}/{self.unit} is not a time signature"
            raise ScoreError(message, "Write two figures such as 4/4, 3/4 or 6/8.")

    @property
    def length(self) -> Fraction:
        """Length of a full bar in whole notes."""
        return Fraction(self.count, self.unit)

    @property
    def is_compound(self) -> bool:
        """Whether beats fall into three: 6/8, 9/8, 12/8 and their sixteenths."""
        return self.unit in _COMPOUND_UNITS and self.count % 3 == 0 and self.count > 3

    @property
    def beat(self) -> Fraction:
        """Length of the beat that a foot taps and a tempo counts: a dotted quarter in 6/8."""
        return Fraction(3 if self.is_compound else 1, self.unit)

    @property
    def beats(self) -> int:
        """Beats in a full bar."""
        return int(self.length / self.beat)

    def rank(self, offset: Fraction) -> int:
        """How strong a place in the bar is: 0 the bar line, 1 its middle, 2 a beat, 3 half a beat ...

        ``offset`` is counted from the bar's start in whole notes. Places off the binary grid of the beat
        (tuplets) rank with the weakest.
        """
        if offset == 0:
            return 0
        if self.beats % 2 == 0 and offset * 2 == self.length and self.beats > 2:
            return 1
        step, rank = self.beat, 2
        while step >= BASES[-1]:
            if offset % step == 0:
                return rank
            step, rank = (step / 3 if self.is_compound and rank == 2 else step / 2), rank + 1
        return rank

    def spell(self, offset: Fraction, duration: Fraction) -> tuple[Value, ...]:
        """Write a length that starts at ``offset`` as values tied together so that the beats stay visible.

        A length with a sign of its own is kept whole unless it hides a stronger place than the one it
        starts on; the usual syncopations (a note from half a beat to half a beat, a half note on the
        second of four) are left whole, as engravers do. In compound time only whole beats run over a beat.

        Raises :class:`~fretwright.base.errors.ScoreError` if no chain of written values has that length.
        """
        if duration <= 0:
            message = f"a note cannot last {duration} of a whole note"
            raise ScoreError(message)
        whole = value_of(duration)
        cut = self._strongest_inside(offset, duration)
        if cut is not None and whole is not None and self._may_hide(offset, duration, cut):
            cut = None
        if cut is None and self.is_compound:
            cut = self._beat_inside(offset, duration, whole)
        if cut is not None:
            return self.spell(offset, cut - offset) + self.spell(cut, offset + duration - cut)
        return (whole,) if whole is not None else self._longest_first(duration)

    def _strongest_inside(self, offset: Fraction, duration: Fraction) -> Fraction | None:
        """The strongest place strictly inside a note that outranks the place it starts on."""
        grid = min(self.beat, Fraction(1, 8)) / 2
        first = (offset // grid + 1) * grid
        places = [first + grid * i for i in range(int((offset + duration - first) / grid) + 1)]
        inside = [place for place in places if offset < place < offset + duration]
        if not inside:
            return None
        best = min(inside, key=self.rank)
        return best if self.rank(best) < self.rank(offset) else None

    def _beat_inside(self, offset: Fraction, duration: Fraction, whole: Value | None) -> Fraction | None:
        """The first beat that a note runs over in compound time, unless it is one sign of whole beats."""
        beat = (offset // self.beat + 1) * self.beat
        if beat >= offset + duration:
            return None
        is_beats = offset % self.beat == 0 and duration % self.beat == 0
        return None if whole is not None and is_beats else beat

    def _may_hide(self, offset: Fraction, duration: Fraction, cut: Fraction) -> bool:
        """Whether a note may run over ``cut``: symmetric syncopation at most one rank below it."""
        symmetric = cut - offset == offset + duration - cut
        return symmetric and self.rank(offset) - self.rank(cut) == 1

    def _longest_first(self, duration: Fraction) -> tuple[Value, ...]:
        values: list[Value] = []
        left = duration
        for base in BASES:
            for value in (Value(base, 1), Value(base)):
                if value.duration <= left and (value.dots == 0 or value.duration == left):
                    values.append(value)
                    left -= value.duration
        if left:
            message = f"a length of {duration} of a whole note cannot be written with plain and dotted values"
            raise ScoreError(message)
        return tuple(values)

    def __str__(self) -> str:
        return f"{self.count}/{self.unit}"


COMMON_TIME = Meter(4, 4)
