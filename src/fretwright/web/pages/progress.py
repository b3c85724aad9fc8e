"""Progress: tempo, evenness and slurs over the weeks, and what the teacher said."""

from datetime import datetime
from typing import Final

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.responses import HTMLResponse

from fretwright.practice.chart import NARROW_MM, WIDE_MM, Chart, Level, Line, draw_chart
from fretwright.practice.progress import Way, Week, progress_of
from fretwright.practice.words import after_take
from fretwright.store import takes
from fretwright.web.access import AtSchool, StudentOnly
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.studies import study_of

router: Final = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False)
_SHOWN_TAKES: Final = 30
_SHOWN_WHOLE: Final = 3
_WIDTHS: Final = {"wide": WIDE_MM, "narrow": NARROW_MM}


@router.get("/progress")
def progress(request: Request, person: StudentOnly, school: AtSchool) -> HTMLResponse:
    """How it went: what was practised last in full, and everything else in a line with a way to it."""
    study = study_of(school, person)
    made = progress_of(study.course, study.history, study.zone)
    with school.database.reading() as transaction:
        mine = takes.takes_of(transaction, person.id, limit=_SHOWN_TAKES)
    by_last = sorted(made.exercises, key=_last_at, reverse=True)
    return page(
        request,
        "practice/progress.html",
        ways=[_shown(way, f"way-{place}") for place, way in enumerate(by_last[:_SHOWN_WHOLE])],
        others=[{"way": way, "address": f"/progress/{way.exercise.name}"} for way in by_last[_SHOWN_WHOLE:]],
        days=len(made.days),
        count=made.takes,
        takes=mine,
    )


@router.get("/progress/{lesson}/{exercise}")
def progress_with(
    request: Request, person: StudentOnly, school: AtSchool, lesson: str, exercise: str
) -> HTMLResponse:
    """How one exercise went."""
    study = study_of(school, person)
    made = progress_of(study.course, study.history, study.zone)
    way = next((each for each in made.exercises if each.exercise.name == f"{lesson}/{exercise}"), None)
    if way is None:
        raise not_found()
    return page(request, "practice/way.html", each=_shown(way, "way"))


def _last_at(way: Way) -> datetime:
    """When something last happened to an exercise."""
    moments = [remark.at for remark in way.remarks[:1]]
    if way.standing.last_at is not None:
        moments.append(way.standing.last_at)
    return max(moments)


def _shown(way: Way, anchor: str) -> dict[str, object]:
    """One exercise as its template shows it."""
    lesson, _, own = way.exercise.name.partition("/")
    return {
        "way": way,
        "anchor": anchor,
        "address": f"/course/lessons/{lesson}.html#ex-{own}",
        "next": after_take(way.standing) if way.weeks else "",
        "charts": [_drawn(chart, f"{anchor}-{name}") for name, chart in _charts(way)],
        "rows": [_row(week) for week in reversed(way.weeks)],
        "has_slurs": any(week.slur_db is not None for week in way.weeks),
    }


def _charts(way: Way) -> list[tuple[str, Chart]]:
    """What can be drawn of it."""
    goal = (Level("goal", float(way.standing.rungs[-1])),)
    clean = tuple((week.monday, week.clean_bpm) for week in way.weeks if week.clean_bpm is not None)
    tried = tuple((week.monday, week.tried_bpm) for week in way.weeks)
    tempo = (Line("quickest clean take", clean), Line("quickest try", tried, hollow=True))
    uneven = tuple(
        (week.monday, week.uneven_percent) for week in way.weeks if week.uneven_percent is not None
    )
    slurs = tuple((week.monday, week.slur_db) for week in way.weeks if week.slur_db is not None)
    charts = [("tempo", Chart(f"{way.exercise.title}: tempo", "beats a minute", tempo, goal))]
    if uneven:
        steady = (Level("a steady player", 4.0),)
        line = (Line("unevenness", uneven),)
        charts.append(
            (
                "even",
                Chart(f"{way.exercise.title}: evenness", "% of the interval", line, steady, from_zero=True),
            )
        )
    if slurs:
        as_plucks = (Level("as loud as plucks", 0.0),)
        line = (Line("slurs", slurs),)
        charts.append(("slurs", Chart(f"{way.exercise.title}: slurs", "dB against plucks", line, as_plucks)))
    return charts


def _drawn(chart: Chart, anchor: str) -> dict[str, object]:
    pictures = {
        name: Markup(draw_chart(chart, width_mm=width, id_prefix=f"{anchor}-{name}"))  # noqa: S704 - drawn by us, words escaped
        for name, width in _WIDTHS.items()
    }
    return {"title": chart.title.partition(": ")[2].capitalize(), **pictures}


def _row(week: Week) -> dict[str, str]:
    """One week in words and figures."""

    def figure(value: float | None, form: str) -> str:
        return "–" if value is None else form.format(value).replace("-", "\u2212")

    return {
        "week": f"{week.monday.day} {week.monday:%b %Y}",
        "takes": f"{week.clean} of {week.takes}",
        "clean": figure(week.clean_bpm, "{:.0f}"),
        "tried": figure(week.tried_bpm, "{:.0f}"),
        "uneven": figure(week.uneven_percent, "{:.1f} %"),
        "slurs": figure(week.slur_db, "{:+.0f} dB"),
    }
