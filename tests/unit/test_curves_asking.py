"""Questions of the Curves page: who may ask, how long they may be, and what a refusal looks like."""

import json
from typing import Any

from tornado.testing import AsyncHTTPTestCase
from tornado.web import Application

from curvelab.app.curves import asking
from curvelab.app.curves.asking import Asked
from curvelab.app.curves.routes import routes
from curvelab.errors import Fault, InputError
from curvelab.model.catalogue import default_catalogue


class Refusing(Asked):
    def answer(self, asked: Any) -> dict[str, Any]:
        if asked.get("break"):
            raise RuntimeError("inner secret")
        raise InputError(Fault("file.toml", "mass", "12 has no unit", "write a mass"))


class TestAsking(AsyncHTTPTestCase):
    def get_app(self) -> Application:
        given = {"catalogue": default_catalogue}
        app = Application([*routes(default_catalogue), ("/refusing", Refusing, given)])
        app.websocket_origins = {"yard.example:5006"}  # type: ignore[attr-defined]
        return app

    def ask(self, path: str, body: Any, **headers: str) -> Any:
        sent = {"Content-Type": "application/json", "Origin": "http://yard.example:5006", **headers}
        text = body if isinstance(body, (str, bytes)) else json.dumps(body)
        return self.fetch(path, method="POST", body=text, headers={name: v for name, v in sent.items() if v})

    def test_own_pages_are_answered(self) -> None:
        answer = self.ask("/curves/pump", {"key": "ferrow-3", "query": "", "width": 400})
        assert answer.code == 200
        assert "Ferrow 3" in json.loads(answer.body)["html"]
        assert answer.headers["Cache-Control"] == "no-store"

    def test_others_are_not(self) -> None:
        for origin in ("http://elsewhere.example", "http://yard.example:5007", "null", ""):
            assert self.ask("/curves/pump", {"key": "ferrow-3"}, Origin=origin).code == 403

    def test_a_form_of_another_page_can_not_ask(self) -> None:
        for kind in ("text/plain", "application/x-www-form-urlencoded", ""):
            assert self.ask("/curves/pump", {"key": "ferrow-3"}, **{"Content-Type": kind}).code == 415

    def test_too_much_is_refused_before_it_is_read(self) -> None:
        assert self.ask("/curves/pump", "x" * (asking.MOST_BYTES + 1)).code in (413, 599)  # the line may be cut

    def test_what_is_no_question(self) -> None:
        for text in ("", "[", '{"width": NaN}', '{"width": -Infinity}', "[1]", '"x"', "[" * 100_000, "\xff"):
            answer = self.ask("/curves/pump", text)
            assert answer.code == 400
            assert json.loads(answer.body)["faults"][0]["got"]

    def test_strange_questions_are_refused_in_words(self) -> None:
        for body in ({}, {"key": 5}, {"key": "ferrow-3", "width": "wide"}, {"key": "x", "query": 7}):
            assert self.ask("/curves/pump", body).code in (200, 422)
        assert self.ask("/curves/fleet", {"units": "parsec"}).code == 422

    def test_a_refusal_names_its_field(self) -> None:
        answer = self.ask("/refusing", {})
        assert answer.code == 422
        wanted = {"where": "file.toml", "field": "mass", "got": "12 has no unit", "right": "write a mass"}
        assert json.loads(answer.body)["faults"] == [wanted]

    def test_a_mishap_says_nothing_of_the_inside(self) -> None:
        with self.assertLogs(asking.__name__, "ERROR"):
            answer = self.ask("/refusing", {"break": True})
        assert answer.code == 500
        assert b"secret" not in answer.body
        assert b"(id " in answer.body

    def test_the_fleet_in_other_units_is_the_same_setup(self) -> None:
        answer = json.loads(self.ask("/curves/fleet", {"query": "v=1&lift=12+ft", "units": "metric"}).body)
        assert "units=metric" in answer["query"]
        assert "lift=12+ft" in answer["query"]
