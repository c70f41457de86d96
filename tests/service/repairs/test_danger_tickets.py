"""What a ticket of danger shows to those who decide and to those who go in, and what it leaves out."""

from __future__ import annotations

from at_work import page, sign_in, words
from whole_service import Running, mobile

from service.auth.roles import Role

FORECAST = "Indoor temperature, next 48 hours"


def gas_ticket(service: Running) -> str:
    """A home that smells gas."""
    return str(service.text(mobile("4B"), "I smell gas in my kitchen!")["ticket"])


def test_who_goes_in_reads_first_that_it_has_to_be_cleared(service: Running) -> None:
    """Common practice, no source: the utility or the fire department first; before suspects."""
    ticket = gas_ticket(service)
    sign_in(service, Role.TRUCK)
    said = words(page(service, f"/truck/tickets/{ticket}"))

    assert said.index("before the utility or the fire department has cleared") < said.index("Carry")
    assert "I smell gas in my kitchen!" in said


def test_the_weather_is_no_matter_beside_a_smell_of_gas(service: Running) -> None:
    """No forecast, no homes predicted to get cold, no suspect drawn; what is behind it is folded."""
    ticket = gas_ticket(service)
    sign_in(service, Role.DESK)
    html = page(service, f"/desk/tickets/{ticket}")
    said = words(html)

    assert FORECAST not in said
    assert "predicted" not in said
    assert 'class="suspect"' not in html
    assert said.index("Conversation") < said.index("The building")
    assert said.index("What may be behind it") < said.index("What is suspected, and how sure")


def test_a_cold_home_has_its_forecast_and_a_noisy_one_has_none(service: Running) -> None:
    """How long it can wait is asked where it gets cold."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    noisy = service.text(mobile("3B"), "loud banging in the pipes all night")["ticket"]
    assert cold != noisy
    sign_in(service, Role.DESK)

    assert FORECAST in words(page(service, f"/desk/tickets/{cold}"))
    assert FORECAST not in words(page(service, f"/desk/tickets/{noisy}"))
