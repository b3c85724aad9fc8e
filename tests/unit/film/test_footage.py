"""Recordings read as they are watched."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import numpy.typing as npt
import pytest

from fretwright.base.errors import UsageError
from fretwright.ear.take import RATE_HZ as HEARD_HZ
from fretwright.ear.track_sound import sound_of
from fretwright.film.canvas import Plane
from fretwright.film.footage import Footage, pictures, probe, sound
from recordings import RATE_HZ, Camera, Samples, record, silence


def clicks(length_s: float) -> Samples:
    """A click on every second."""
    samples = silence(length_s)
    for second in range(int(length_s)):
        samples[second * RATE_HZ : second * RATE_HZ + 200] = 0.8
    return samples


def brightness(luma: Plane) -> npt.NDArray[np.float64]:
    """Mean of the left, right, upper and lower edge."""
    edges = (luma[:, :10], luma[:, -10:], luma[:10], luma[-10:])
    return np.array([float(edge.mean()) for edge in edges])


def test_an_ordinary_recording(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", clicks(2.0))

    footage = probe(path)

    assert (footage.width, footage.height, footage.rate) == (640, 360, Fraction(25))
    assert footage.length_s == pytest.approx(2.0, abs=0.05)
    assert footage.has_picture
    assert footage.has_sound
    assert len(list(pictures(footage))) == footage.picture_count


@pytest.mark.parametrize(("turned", "bright"), [(0, 0), (90, 3), (180, 1), (270, 2)])
def test_a_turned_recording_stands_upright(tmp_path: Path, turned: int, bright: int) -> None:
    # the white bar at the left of what the camera stored comes to lie elsewhere as it is watched
    path = record(tmp_path / "a.mp4", silence(0.4), Camera(turned=turned))

    footage = probe(path)
    luma = next(pictures(footage))[0]

    upright = (640, 360) if turned in {0, 180} else (360, 640)
    assert (footage.width, footage.height) == upright
    assert luma.shape == upright[::-1]
    assert int(np.argmax(brightness(luma))) == bright


def test_pictures_at_a_varying_rate_come_evenly_and_in_time(tmp_path: Path) -> None:
    footage = probe(record(tmp_path / "a.mp4", silence(3.0), Camera(rate=30, uneven=True)))

    # the right edge tells the time in steps of a twentieth of a second
    told_s = [(float(planes[0][:, -20:].mean()) - 16) / 20 for planes in pictures(footage)]

    assert footage.rate <= 30
    assert len(told_s) == footage.picture_count
    for number, seen_s in enumerate(told_s):
        # at most two pictures are missing in a row; a step of brightness and one of the codec's come on top
        assert -0.1 - 0.1 <= seen_s - float(number / footage.rate) <= 0.06


def test_rates_are_brought_to_what_films_are_made_at(tmp_path: Path) -> None:
    assert probe(record(tmp_path / "a.mp4", silence(0.5), Camera(rate=15))).rate == Fraction(24000, 1001)
    assert probe(record(tmp_path / "b.mp4", silence(0.2), Camera(rate=120))).rate == 60


@pytest.mark.parametrize("late_s", [0.0, 0.4])
def test_sound_keeps_its_place_beside_the_picture(tmp_path: Path, late_s: float) -> None:
    path = record(tmp_path / "a.mp4", clicks(2.0), Camera(sound_late_s=late_s), length_s=3.0)

    pieces = list(sound(probe(path)))
    whole = np.concatenate([samples for _, samples in pieces])
    loud = np.flatnonzero(np.abs(whole[:, 0]) > 0.3)

    assert whole.shape[1] == 2
    assert [start for start, _ in pieces] == [0, *np.cumsum([len(samples) for _, samples in pieces])[:-1]]
    assert loud[0] / RATE_HZ == pytest.approx(late_s, abs=0.03)
    second = loud[loud > loud[0] + RATE_HZ / 2][0]
    assert second / RATE_HZ == pytest.approx(late_s + 1.0, abs=0.005)


def test_a_recording_without_sound_or_picture_says_so(tmp_path: Path) -> None:
    mute = probe(record(tmp_path / "mute.mp4", silence(0.0), Camera(sound=None), length_s=0.5))
    assert not mute.has_sound

    import soundfile

    soundfile.write(tmp_path / "voice.wav", clicks(1.0), RATE_HZ)
    blind = probe(tmp_path / "voice.wav")
    assert (blind.has_picture, blind.has_sound) == (False, True)
    assert blind.length_s == pytest.approx(1.0)


@pytest.mark.parametrize("content", [b"", b"not a film", b"\0" * 4096])
def test_a_broken_file_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(content)

    with pytest.raises(UsageError, match="broken"):
        probe(path)


def test_a_file_cut_in_the_middle_is_refused_or_read_as_far_as_it_goes(tmp_path: Path) -> None:
    whole = record(tmp_path / "a.mp4", clicks(2.0))
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    with pytest.raises(UsageError, match="broken"):
        probe(cut)

    loose = record(tmp_path / "b.mkv", clicks(2.0))
    cut = tmp_path / "cut.mkv"
    cut.write_bytes(loose.read_bytes()[: loose.stat().st_size * 2 // 3])
    assert len(list(pictures(probe(cut)))) == probe(cut).picture_count


def test_what_is_too_small_to_write_on_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="could not be read"):
        probe(record(tmp_path / "a.mp4", silence(0.2), Camera(width=160, height=120)))


def test_there_must_be_a_file(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no file"):
        probe(tmp_path / "a.mp4")


def test_a_film_of_the_same_length_has_at_least_one_picture() -> None:
    assert Footage(Path("a"), 640, 360, Fraction(25), 0.0, 0, has_sound=True).picture_count == 1


def recorded_as(path: Path, samples: Samples, layout: str, rate: int) -> Path:
    """A recording whose sound has that layout and rate; every channel carries the same."""
    with av.open(str(path), "w") as file:
        picture = file.add_stream("libx264", rate=25, options={"preset": "ultrafast"})
        picture.width, picture.height, picture.pix_fmt = 640, 360, "yuv420p"
        voice = file.add_stream("aac", rate=rate)
        voice.layout = layout
        grey = np.full((540, 640), 128, np.uint8)
        for number in range(round(len(samples) / RATE_HZ * 25)):
            frame = av.VideoFrame.from_ndarray(grey, format="yuv420p")
            frame.pts = number
            file.mux(picture.encode(frame))
        step = RATE_HZ // rate
        mono = samples.reshape(-1, step).mean(axis=1).astype(np.float32)
        planes = np.repeat(mono[None], voice.layout.nb_channels, axis=0)
        for start in range(0, len(mono), 1024):
            heard = av.AudioFrame.from_ndarray(
                np.ascontiguousarray(planes[:, start : start + 1024]), format="fltp", layout=layout
            )
            heard.sample_rate, heard.pts = rate, start
            file.mux(voice.encode(heard))
        file.mux(picture.encode(None))
        file.mux(voice.encode(None))
    return path


@pytest.mark.parametrize(("layout", "rate"), [("5.1", 48_000), ("mono", 8_000)])
def test_sound_of_any_layout_and_rate_is_in_its_place(tmp_path: Path, layout: str, rate: int) -> None:
    path = recorded_as(tmp_path / "a.mp4", clicks(3.0), layout, rate)

    footage = probe(path)
    filmed = np.concatenate([samples for _, samples in sound(footage)])
    with sound_of(path) as blocks:
        heard = np.concatenate(list(blocks))

    assert filmed.shape[1] == 2
    for track, track_rate in ((filmed[:, 0], RATE_HZ), (heard, HEARD_HZ)):
        level = np.abs(track)
        begins = [
            int(np.argmax(level[round((at - 0.3) * track_rate) :] > 0.3 * level.max())) / track_rate - 0.3
            for at in (1.0, 2.0)
        ]
        # within a period or two of the lower rate's anti-aliasing filter
        assert begins == pytest.approx([0.0, 0.0], abs=0.004)
