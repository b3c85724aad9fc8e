import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.film.canvas import Canvas, Rect, sprite
from fretwright.film.raster import PAPER, RUBRIC, columns, rgb, rounded


@given(middle=st.floats(5, 60), width=st.integers(1, 8))
def test_a_column_covers_exactly_its_width_about_exactly_its_middle(middle: float, width: int) -> None:
    mask, left = columns(middle, np.array([width]))

    pixels = np.arange(left, left + mask.shape[1]) + 0.5
    assert mask.sum() == pytest.approx(width, rel=1e-5)
    assert (mask[0] @ pixels) / mask.sum() == pytest.approx(middle, abs=1e-4)


@given(x=st.floats(3, 9), y=st.floats(3, 9))
def test_a_filled_disc_has_its_area_and_its_middle(x: float, y: float) -> None:
    mask, left, top = rounded((x - 2.5, y - 2.5, x + 2.5, y + 2.5), 2.5, 0.0)

    columns_x = np.arange(left, left + mask.shape[1]) + 0.5
    rows_y = np.arange(top, top + mask.shape[0]) + 0.5
    assert mask.sum() == pytest.approx(np.pi * 2.5**2, rel=0.03)
    assert (mask.sum(axis=0) @ columns_x) / mask.sum() == pytest.approx(x, abs=0.05)
    assert (mask.sum(axis=1) @ rows_y) / mask.sum() == pytest.approx(y, abs=0.05)


@given(x=st.integers(0, 9), y=st.integers(0, 9), width=st.integers(1, 7), height=st.integers(1, 7))
def test_a_figure_is_widened_to_the_grid_and_not_moved(x: int, y: int, width: int, height: int) -> None:
    figure = sprite(np.ones((height, width), np.float32), x, y, RUBRIC)

    assert figure.mask.shape == (figure.rect.height, figure.rect.width)
    whole = np.zeros((32, 32), np.float32)
    whole[figure.rect.y : figure.rect.bottom, figure.rect.x : figure.rect.right] = figure.mask
    expected = np.zeros((32, 32), np.float32)
    expected[y : y + height, x : x + width] = 1
    assert (whole == expected).all()
    assert figure.half_mask.sum() * 4 == pytest.approx(width * height)


def test_colours_are_those_of_bt_709(rng: np.random.Generator) -> None:
    # Held against FFmpeg's own conversion, on flat patches: how chroma is averaged is another matter.
    patches = rng.integers(0, 256, (6, 6, 3), dtype=np.uint8).repeat(8, axis=0).repeat(8, axis=1)
    pixels = np.dstack([patches, np.full((48, 48), 255, np.uint8)])
    canvas = Canvas(48, 48, "yuv420p")
    canvas.put(canvas.tile(pixels), Rect(0, 0, 48, 48))

    theirs = av.VideoFrame.from_ndarray(patches, format="rgb24").reformat(
        format="yuv420p", dst_colorspace="ITU709", dst_color_range="MPEG"
    )

    ours = canvas.frame()
    for plane, other in zip(ours.planes, theirs.planes, strict=True):
        step = 8 * plane.width // 48
        inner = np.s_[step // 2 :: step, step // 2 :: step]
        mine = np.frombuffer(bytes(plane), np.uint8).reshape(-1, plane.line_size)[
            : plane.height, : plane.width
        ]
        its = np.frombuffer(bytes(other), np.uint8).reshape(-1, other.line_size)[
            : other.height, : other.width
        ]
        assert np.abs(mine[inner].astype(int) - its[inner]).max() <= 2


@pytest.mark.parametrize("layout", ["yuv420p", "rgba"])
def test_what_is_laid_over_can_be_taken_away_again(layout: str) -> None:
    ground, shown = (Canvas(32, 32, layout) for _ in range(2))  # type: ignore[arg-type]
    paper = np.full((32, 32, 4), (*rgb(PAPER), 255), np.uint8)
    whole = Rect(0, 0, 32, 32)
    for canvas in (ground, shown):
        canvas.put(canvas.tile(paper), whole)
    before = [plane.copy() for plane in shown.planes]

    figure = sprite(np.full((5, 3), 0.5, np.float32), 7, 9, RUBRIC)
    shown.lay(figure)
    assert any((plane != old).any() for plane, old in zip(shown.planes, before, strict=True))
    shown.copy_from(ground, [figure.rect])

    assert all((plane == old).all() for plane, old in zip(shown.planes, before, strict=True))


def test_a_mixed_tile_lies_between_the_two() -> None:
    canvas = Canvas(2, 2, "rgba")
    dark, light = (canvas.tile(np.full((2, 2, 4), value, np.uint8)) for value in (20, 220))

    assert [int(dark.mixed(light, share).planes[0][0, 0]) for share in (0, 0.5, 1)] == [20, 120, 220]
