"""A band for an exercise: files on request, and those of its page."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from fretwright.base.errors import RenderError, UsageError
from fretwright.check.check import Checked
from fretwright.flows.band import BandJob, BandOrder, write_band
from fretwright.flows.reading import check_course
from fretwright.sound.band.render import BandOptions

_LESSON = """---
title: The mill
goal: Play along.
---

```chart mill
key: A major
chords: A7 | D7
tempo: 120 to 140
band: shuffle
```

```exercise over-the-mill
from: mill
targets: thirds
```

```exercise alone
scale: A minor pentatonic
position: 5
notes: eighths
tempo: 100
```
"""


@pytest.fixture(scope="module")
def mill(tmp_path_factory: pytest.TempPathFactory) -> Checked:
    """A course with one lesson about a mill."""
    folder = tmp_path_factory.mktemp("mill")
    (folder / "lessons").mkdir()
    (folder / "course.yaml").write_text("title: The mill\nteacher: Sefa Lund\n", encoding="utf-8")
    (folder / "lessons" / "01-mill.md").write_text(_LESSON, encoding="utf-8")
    return check_course(folder)


def _job(mill: Checked, name: str) -> tuple[BandJob, ...]:
    exercise = mill.course.exercise(name)
    return BandJob.all_of(exercise, mill.score_of(exercise))


def test_mix_and_stems_are_written(mill: Checked, tmp_path: Path) -> None:
    paths = write_band(mill, "01-mill/mill", BandOrder(), tmp_path / "band")
    assert [path.name for path in paths] == [
        "mill-mix.flac", "mill-drums.flac", "mill-bass.flac", "mill-chords.flac",
    ]  # fmt: skip
    mix, *stems = (soundfile.read(path)[0] for path in paths)
    assert np.abs(sum(stems) - mix).max() < 4 / 32_768


def test_a_loop_is_as_long_as_the_form(mill: Checked, tmp_path: Path) -> None:
    order = BandOrder(bpm=120, options=BandOptions(loop=True))
    mix, *_ = write_band(mill, "01-mill/mill", order, tmp_path)
    assert soundfile.info(mix).frames == 2 * 4 * 48_000 // 2


def test_another_keynote_moves_the_chords(mill: Checked, tmp_path: Path) -> None:
    """The bass of the first bar, by its strongest partial under 120 Hz, is an E in place of an A."""
    order = BandOrder(key="E", bpm=120, options=BandOptions(count_in=False, ending=False))
    _, _, bass, _ = write_band(mill, "01-mill/mill", order, tmp_path)
    sound = soundfile.read(bass)[0].mean(axis=1)[2400 : 2400 + 20_000]
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 1 << 18))
    hz = np.fft.rfftfreq(1 << 18, 1 / 48_000)
    low = (hz > 35) & (hz < 120)
    strongest = hz[low][np.argmax(spectrum[low])]
    assert (12 * np.log2(strongest / 41.203)) % 12 == pytest.approx(0, abs=0.4) or (
        12 * np.log2(strongest / 41.203)
    ) % 12 == pytest.approx(12, abs=0.4)


def test_what_cannot_be_played_is_said(mill: Checked, tmp_path: Path) -> None:
    with pytest.raises(RenderError, match="names no chords"):
        write_band(mill, "01-mill/alone", BandOrder(), tmp_path)
    with pytest.raises(UsageError, match="no keynote"):
        write_band(mill, "01-mill/mill", BandOrder(key="H"), tmp_path)
    with pytest.raises(UsageError, match="no feel"):
        write_band(mill, "01-mill/mill", BandOrder(feel="polka"), tmp_path)
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(RenderError, match="cannot be written"):
        write_band(mill, "01-mill/mill", BandOrder(), tmp_path / "file" / "band")


def test_a_page_has_the_band_at_the_first_rung_and_at_the_goal(mill: Checked) -> None:
    jobs = _job(mill, "01-mill/mill")
    assert [job.bpm for job in jobs] == [120, 140]
    assert _job(mill, "01-mill/alone") == ()


def test_where_notes_are_written_they_are_heard_with_the_band(mill: Checked) -> None:
    job = _job(mill, "01-mill/over-the-mill")[0]
    assert job.track.with_guitar is not None
    files = job.make()
    assert set(files) == set(job.paths)
    assert all(files.values())
