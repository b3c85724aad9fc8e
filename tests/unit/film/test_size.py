import pytest

from fretwright.base.errors import UsageError
from fretwright.film.size import RATES, SHAPES, FilmSize, film_size


@pytest.mark.parametrize(
    ("name", "shape", "pixels"),
    [
        # Common picture sizes (ITU-R BT.709 has 1920 by 1080; the others from memory).
        ("720p", "16:9", (1280, 720)),
        ("1080p", "16:9", (1920, 1080)),
        ("1440p", "16:9", (2560, 1440)),
        ("2160p", "16:9", (3840, 2160)),
        ("1080p", "1:1", (1080, 1080)),
        ("1080p", "9:16", (1080, 1920)),
    ],
)
def test_a_size_is_named_by_its_shorter_side(name: str, shape: str, pixels: tuple[int, int]) -> None:
    size = film_size(name, shape)

    assert (size.width, size.height) == pixels


@pytest.mark.parametrize("fps", RATES)
def test_a_picture_stands_for_whole_samples(fps: int) -> None:
    assert film_size("720p", fps=fps).samples_per_frame * fps == 48_000


@pytest.mark.parametrize(
    ("name", "shape", "fps"),
    [
        ("1000p", "16:9", 30),  # 1777.8 pixels wide
        ("721p", "1:1", 30),
        ("480p", "16:9", 30),
        ("4320p", "16:9", 30),
        ("1080", "16:9", 30),
        ("1080i", "16:9", 30),
        ("p", "16:9", 30),
        ("\u0967\u0966\u096e\u0966p", "16:9", 30),  # digits, but of another script
        ("-720p", "16:9", 30),
        ("720p", "4:3", 30),
        ("720p", "16:9", 24),
    ],
)
def test_what_cannot_be_filmed_is_refused_with_a_mend(name: str, shape: str, fps: int) -> None:
    with pytest.raises(UsageError) as refused:
        film_size(name, shape, fps)

    assert refused.value.mend


@pytest.mark.parametrize(
    ("width", "height", "fps"), [(1279, 720, 30), (1280, 721, 30), (64, 64, 30), (320, 180, 7)]
)
def test_odd_and_tiny_sides_and_uneven_rates_are_refused(width: int, height: int, fps: int) -> None:
    with pytest.raises(UsageError):
        FilmSize(width, height, fps)


def test_every_even_size_of_every_shape_is_whole_or_refused() -> None:
    for shape, (wide, high) in SHAPES.items():
        for lines in range(720, 2161):
            try:
                size = film_size(f"{lines}p", shape)
            except UsageError:
                continue
            assert size.width * high == size.height * wide
            assert size.short_px == lines
