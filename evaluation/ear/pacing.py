"""When a student plays what: the written intervals at a tempo of their own, its drift, and jitter."""

from dataclasses import dataclass

import numpy as np
from evaluation.ear.guitars import Floats


@dataclass(frozen=True, slots=True)
class Pace:
    """How a student keeps time."""

    tempo_ratio: float = 1.0
    jitter_ms: float = 8.0
    drift: str = "none"
    """``none``, ``sine`` (±8 %) or ``step`` (8 % from the middle on)."""

    def times(
        self,
        written_s: Floats,
        rng: np.random.Generator,
        begins_s: float,
        phase: float,
        within_s: tuple[float, float],
    ) -> list[float]:
        """Onsets in seconds, the first (jitter aside) at ``begins_s``; no note overtakes the one before.

        ``phase`` turns the drift, in radians; ``within_s`` is the first and the last onset of the whole
        exercise, over which the tempo drifts.
        """
        steady = self._steady(written_s, begins_s, phase, within_s)
        spread_s = self.jitter_ms / 1000
        jitter = np.clip(rng.normal(0, spread_s, len(steady)), -2.5 * spread_s, 2.5 * spread_s)
        out = steady[:1]
        for index in range(1, len(steady)):
            gap = steady[index] - steady[index - 1]
            off = float(np.clip(jitter[index], -0.2 * gap, 0.2 * gap))
            out.append(max(out[-1] + 0.6 * gap, steady[index] + off))
        return out

    def _steady(
        self, written_s: Floats, begins_s: float, phase: float, within_s: tuple[float, float]
    ) -> list[float]:
        """Onsets without jitter."""
        first_s, last_s = within_s
        times = [begins_s]
        for index in range(1, len(written_s)):
            part = float(written_s[index] - first_s) / max(last_s - first_s, 1e-9)
            speed = self.tempo_ratio
            if self.drift == "sine":
                speed *= 1 + 0.08 * np.sin(phase + 2 * np.pi * 1.5 * part)
            elif self.drift == "step" and part > 0.5:
                speed *= 1.08 if phase > np.pi else 0.92
            times.append(times[-1] + float(written_s[index] - written_s[index - 1]) / speed)
        return times
