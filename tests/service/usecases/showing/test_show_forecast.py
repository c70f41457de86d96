"""The forecast beside a ticket: which home, from what, and against which law."""

from __future__ import annotations

from datetime import timedelta

import pytest
from whole_service import EVENING, Running, mobile

from service.errors import NotFoundError
from service.usecases.showing.show_forecast import ForecastView, show_forecast


def forecast_of(service: Running, ticket: str) -> ForecastView | None:
    """The forecast of a ticket now."""
    with service.services.db.reading() as session:
        return show_forecast(session, service.services.now(), ticket)


def test_a_cold_home_is_shown_against_the_law_of_its_city(service: Running) -> None:
    """7 pm in New York: 68 F by day, 62 F from 10 pm to 6 am (NYC Administrative Code 27-2029)."""
    ticket = service.text(mobile("1A"), "no heat at all, it is 58 degrees, radiator cold")["ticket"]
    view = forecast_of(service, ticket)
    assert view is not None
    assert (view.apartment, view.homes) == ("1A", ("1A",))
    assert (view.told_f, view.told_at) == (58.0, EVENING)
    assert len(view.hours) == 49
    assert view.law_steps[:3] == (
        (EVENING, 68.0),
        (EVENING + timedelta(hours=3), 62.0),
        (EVENING + timedelta(hours=11), 68.0),
    )
    assert view.below_at == EVENING  # it reads 58 F now
    assert view.hours[24].room_f < view.hours[0].room_f  # no heat and 20 F outside
    assert view.hours[0].outdoor_f == 20.0


def test_there_is_no_forecast_where_nothing_can_be_computed(service: Running) -> None:
    """A home nobody knows, a ticket that is closed, and no ticket at all."""
    stranger = service.text("+12125550177", "my heat is out, freezing")
    if stranger["ticket"] is not None:
        assert forecast_of(service, stranger["ticket"]) is None
    ticket = service.text(mobile("2A"), "no heat, 60 degrees")["ticket"]
    service.close(ticket)
    assert forecast_of(service, ticket) is None
    with pytest.raises(NotFoundError):
        forecast_of(service, "t_nothing")
