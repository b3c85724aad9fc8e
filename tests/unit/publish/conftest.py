import pytest

from fretwright.course.model import Course
from fretwright.publish.material import ExerciseMaterial
from small_course import materials_of, small_course


@pytest.fixture(scope="session")
def course(tmp_path_factory: pytest.TempPathFactory) -> Course:
    return small_course(tmp_path_factory.mktemp("small") / "course")


@pytest.fixture(scope="session")
def materials(course: Course) -> dict[str, ExerciseMaterial]:
    return materials_of(course)
