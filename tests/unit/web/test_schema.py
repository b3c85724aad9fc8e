"""The API keeps to its own description: no request of any shape makes it break, or answer in another one."""

from typing import Any

import schemathesis
from hypothesis import given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import response_schema_conformance, status_code_conformance

from fretwright.web.app import create_app
from fretwright.web.limits import RATES, Limits
from school import ORIGIN, Class, send_take, session

EXAMPLES = 5


def test_whatever_is_asked_is_answered_as_described(school_class: Class) -> None:
    school = school_class.school
    rates = dict.fromkeys(RATES, "1000000/minute")
    school.limits = Limits(school.database, school.key, school.now, rates)  # type: ignore[misc]  # the test's own
    send_take(school_class.client(school_class.student), "01-stairs/up-and-back", b"sound")
    described = schemathesis.openapi.from_asgi(
        "/api/openapi.json", create_app(school), headers={"Host": "127.0.0.1:8321"}
    )
    cookies = [{"fretwright": session(school, who)} for who in (school_class.student, school_class.teacher)]
    asked: set[str] = set()
    for found in described.get_all_operations():
        assert isinstance(found, Ok)
        operation = found.ok()
        asked.add(operation.label)

        @settings(max_examples=EXAMPLES)
        @given(case=operation.as_strategy())
        def answers_as_described(case: "schemathesis.Case[Any]") -> None:
            for cookie in cookies:
                case.call_and_validate(
                    base_url=ORIGIN,
                    headers={"Origin": ORIGIN},
                    cookies=cookie,
                    checks=[not_a_server_error, status_code_conformance, response_schema_conformance],
                )

        answers_as_described()
    assert len(asked) >= 7
