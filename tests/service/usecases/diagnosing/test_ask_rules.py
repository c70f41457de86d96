"""What the rules last said is used again only while exactly the same would be asked."""

from __future__ import annotations

from datetime import timedelta

from whole_service import BUILDING, EVENING, Running, cold_weather, mobile

from service.usecases.diagnosing.ask_rules import (
    Asked,
    asked_of,
    believe_lately,
    believe_now,
    forget_old,
)


def asked_after(service: Running, minutes: float) -> Asked:
    """What would be asked some minutes after the evening began."""
    with service.services.db.reading() as session:
        asked = asked_of(session, EVENING + timedelta(minutes=minutes), BUILDING)
    assert asked is not None
    return asked


def test_the_same_question_within_a_quarter_of_an_hour_is_answered_once(service: Running) -> None:
    """Reading the text was the last time that the rules were asked; opening the ticket is none."""
    service.text(mobile("1A"), "no heat, 58 degrees, radiator cold")
    first = believe_lately(asked_after(service, 0), EVENING)
    assert first.at == EVENING
    assert first.diagnosis is not None
    again = believe_lately(asked_after(service, 14), EVENING + timedelta(minutes=14))
    assert again.diagnosis is first.diagnosis
    later = believe_lately(asked_after(service, 16), EVENING + timedelta(minutes=16))
    assert later.diagnosis is not first.diagnosis
    assert later.at == EVENING + timedelta(minutes=16)


def test_new_evidence_and_other_weather_are_another_question(service: Running) -> None:
    """A text of the neighbour, and a forecast that has changed, are asked about at once."""
    service.text(mobile("1A"), "no heat, 58 degrees, radiator cold")
    alone = believe_lately(asked_after(service, 1), EVENING + timedelta(minutes=1)).diagnosis
    service.text(mobile("1B"), "cold here too, 60 degrees")
    both = believe_lately(asked_after(service, 1), EVENING + timedelta(minutes=1)).diagnosis
    assert both is not alone
    assert both is not None
    assert {str(a) for a in both.causes} == {"1A", "1B"}
    hours = [{**hour, "outdoor_f": 45.0} for hour in cold_weather()["hours"]]
    put = service.call("PUT", "/api/v1/weather/kqry", "owner", json={"hours": hours})
    assert put.is_success, put.text
    mild = believe_lately(asked_after(service, 1), EVENING + timedelta(minutes=1)).diagnosis
    assert mild is not both


def test_a_kept_answer_gives_the_forecast_that_a_new_one_gives_for_the_same_hour(
    service: Running,
) -> None:
    """The curve kept from 7 pm, read 10 minutes on, is the curve of 7 pm at 7:10 pm."""
    service.text(mobile("1A"), "no heat, 58 degrees, radiator cold")
    kept = believe_now(asked_after(service, 0), EVENING)
    assert kept is not None
    home = next(iter(kept.causes))
    late = believe_lately(asked_after(service, 10), EVENING + timedelta(minutes=10))
    assert late.at == EVENING
    assert late.diagnosis is not None
    assert late.diagnosis.room_forecast(home, [10 / 60]) == kept.room_forecast(home, [10 / 60])


def test_what_is_too_old_to_be_said_again_is_let_go(service: Running) -> None:
    """After a quarter of an hour nothing holds it: asked for that same time, it is made anew."""
    service.text(mobile("1A"), "no heat, 58 degrees, radiator cold")
    asked = asked_after(service, 0)
    first = believe_lately(asked, EVENING).diagnosis
    forget_old(EVENING + timedelta(minutes=14))
    assert believe_lately(asked, EVENING).diagnosis is first
    forget_old(EVENING + timedelta(minutes=16))
    assert believe_lately(asked, EVENING).diagnosis is not first
