"""Merging, splitting, pinning, and moves of grouping: what people decide holds until they lift it."""

from __future__ import annotations

from datetime import timedelta

from at_the_desk import (
    act,
    act_on,
    acts_of,
    done,
    homes_by_ticket,
    refused,
    says,
    ticket_of,
    undo_last,
)
from whole_service import EVENING, Running, mobile

COLD = "no heat, 58 in here"
HOT = "too hot in here, boiling"


def ticket(service: Running, apartment: str, words: str = COLD) -> str:
    """The ticket of a home that writes."""
    found: str = service.text(mobile(apartment), words)["ticket"]
    return found


def complaint(service: Running, ticket_id: str, apartment: str) -> str:
    """The complaint of a home on a ticket."""
    for name in ticket_of(service, ticket_id)["complaints"]:
        if service.get(f"/api/v1/complaints/{name}", "desk")["apartment"] == apartment:
            return str(name)
    raise AssertionError(f"{apartment} is not on {ticket_id}")


def shake(service: Running) -> None:
    """New evidence from every home that has reported, which diagnoses the building anew."""
    for homes in list(homes_by_ticket(service).values()):
        for apartment in homes:
            service.text(mobile(apartment), "it is still like that, all rooms")


def test_merged_tickets_stay_merged(service: Running) -> None:
    """Two things the rules hold apart stay one ticket whatever comes, with the picture of both."""
    cold, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    assert cold != hot
    suspects = {s["component"] for t in (cold, hot) for s in ticket_of(service, t)["suspects"][:1]}

    after = act(service, cold, "merge", into=hot)

    assert [after["id"], after["apartments"]] == [hot, ["1A", "4A"]]
    assert suspects <= {s["component"] for s in after["suspects"]}
    assert sum(s["probability"] for s in after["suspects"]) <= 1
    gone = ticket_of(service, cold)
    assert [gone["state"], gone["merged_into"]] == ["closed", hot]
    shake(service)
    assert homes_by_ticket(service) == {hot: ["1A", "4A"]}


def test_a_newcomer_of_a_merged_cause_joins_the_merged_ticket(service: Running) -> None:
    """Homes of either cause that report later come to the ticket where a person has put it."""
    cold, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    act(service, cold, "merge", into=hot)

    service.text(mobile("1B"), COLD)
    service.text(mobile("2A"), COLD)

    assert homes_by_ticket(service) == {hot: ["1A", "1B", "2A", "4A"]}


def test_undoing_a_merge_brings_both_tickets_back(service: Running) -> None:
    """Each home is on its ticket again, readings too, and grouping goes on as before."""
    cold, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    found = service.measure(cold, test="sec_volts", component="xf-1", value=25, unit="V")
    assert found.status_code == 200
    before = homes_by_ticket(service)
    act(service, cold, "merge", into=hot)

    assert undo_last(service, hot)["id"] in {cold, hot}

    assert homes_by_ticket(service) == before
    back = ticket_of(service, cold)
    assert [back["state"], back["merged_into"], back["pinned"]] == ["open", None, []]
    assert ticket_of(service, hot)["pinned"] == []
    service.close(hot)
    service.text(mobile("1B"), COLD)
    assert homes_by_ticket(service) == {cold: ["1A", "1B"]}


def test_a_split_off_home_stays_alone(service: Running) -> None:
    """What the rules hold together stays apart, and newcomers come to the ticket it was split from."""
    first = ticket(service, "1A")
    assert ticket(service, "1B") == first
    since = ticket_of(service, first)["opened_at"]
    service.wait(minutes=5)

    new = act(service, first, "split", complaints=[complaint(service, first, "1B")])

    assert new["apartments"] == ["1B"]
    assert new["opened_at"] == since  # times by law run from the first report
    service.text(mobile("2A"), COLD)
    shake(service)
    assert homes_by_ticket(service) == {first: ["1A", "2A"], new["id"]: ["1B"]}

    undo_last(service, first)
    assert homes_by_ticket(service) == {first: ["1A", "1B", "2A"]}
    assert ticket_of(service, new["id"])["merged_into"] == first


def test_a_split_names_some_of_the_tickets_complaints(service: Running) -> None:
    """None, all, or those of another ticket are refused."""
    first, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    ticket(service, "1B")
    seen = ticket_of(service, first)
    why = refused(
        service,
        f"tickets/{first}/split",
        version=seen["version"],
        complaints=seen["complaints"],
    )
    assert "nothing would be left" in why
    for names in (ticket_of(service, hot)["complaints"], ["c_none"]):
        body = {"version": seen["version"], "complaints": names}
        answer = service.call("POST", f"/api/v1/tickets/{first}/split", "desk", json=body)
        assert answer.status_code == 422


def test_a_pin_holds_until_it_is_lifted(service: Running) -> None:
    """A home stays where a person has pinned it; unpinned it goes back to its own cause."""
    cold, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    assert ticket(service, "1B") == cold
    name = complaint(service, cold, "1B")

    assert act_on(service, name, "pin", ticket=hot)["id"] == hot
    shake(service)
    service.text(mobile("2A"), COLD)
    assert homes_by_ticket(service) == {cold: ["1A", "2A"], hot: ["1B", "4A"]}
    assert ticket_of(service, hot)["pinned"] == [name]
    assert "pinned already" in refused(
        service,
        f"complaints/{name}/pin",
        version=ticket_of(service, hot)["version"],
        ticket=hot,
    ).replace("it is pinned to", "pinned already to")

    assert act_on(service, name, "unpin")["id"] == cold
    assert homes_by_ticket(service) == {cold: ["1A", "1B", "2A"], hot: ["4A"]}
    undo_last(service, hot)
    assert homes_by_ticket(service) == {cold: ["1A", "2A"], hot: ["1B", "4A"]}


def test_all_complaints_of_a_home_move_together(service: Running) -> None:
    """A report for the same home from a phone nobody knows is pinned with it, and comes with it."""
    cold, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    act_on(service, complaint(service, cold, "1A"), "pin", ticket=hot)

    stranger = service.text("+12125550150", "freezing, 9 Quarry Street apt 1A")

    assert stranger["ticket"] == hot
    assert homes_by_ticket(service) == {hot: ["1A", "4A"]}


def test_a_danger_goes_to_a_ticket_of_its_own_whatever_is_pinned(service: Running) -> None:
    """A pin gives way to a danger, and says so; a danger is merged with, or pinned to, nothing."""
    cold, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    name = complaint(service, cold, "1A")
    act(service, cold, "merge", into=hot)

    gas = service.text(mobile("1A"), "I smell gas")["ticket"]

    assert ticket_of(service, gas)["apartments"] == ["1A"]
    other = next(t for t in homes_by_ticket(service) if t != gas)
    assert any("is not pinned any more" in line for line in says(service, hot))
    version = ticket_of(service, gas)["version"]
    for path, body in {
        f"tickets/{gas}/merge": {"into": other},
        f"complaints/{name}/pin": {"ticket": other},
    }.items():
        assert "ticket of its own" in refused(service, path, version=version, **body)
    assert "ticket of its own" in refused(
        service,
        f"tickets/{other}/merge",
        version=ticket_of(service, other)["version"],
        into=gas,
    )


def find(service: Running, ticket_id: str, test: str, component: str, outcome: str) -> None:
    """A technician's finding in words."""
    answer = service.measure(ticket_id, test=test, component=component, outcome=outcome)
    assert answer.status_code == 200, answer.text


def test_grouping_joins_parts_and_merges_and_each_move_can_be_undone(service: Running) -> None:
    """Complaints join, leave and merge as evidence comes; undone, they stay where they were."""
    first = ticket(service, "1A")
    service.wait(minutes=1)
    assert ticket(service, "3A") == first
    joined = acts_of(service, first)[0]
    assert joined["what"].startswith("3A put on")
    assert "one cause would explain them together" in joined["what"]

    find(service, first, "stat_settings", "1A.thermostat", "low_battery")
    find(service, first, "display_codes", "boiler-1", "no_lockout")
    find(service, first, "switch_breaker", "boiler-1", "all_on")
    find(service, first, "lwco_test", "boiler-1", "fires_and_stops")
    second = next(t for t in homes_by_ticket(service) if t != first)
    assert homes_by_ticket(service) == {first: ["1A"], second: ["3A"]}
    left = acts_of(service, second)[0]
    assert left["automatic"]
    assert left["what"].startswith("3A moved from")
    assert "no other report fits the same cause" in left["what"]
    assert any(line.startswith("The complaint of 3A went to") for line in says(service, first))

    service.wait(minutes=1)
    third = ticket(service, "4B", "the pipes gurgle")
    assert homes_by_ticket(service) == {first: ["1A"], second: ["3A"], third: ["4B"]}
    ticket(service, "4B", "no heat in here now")
    assert homes_by_ticket(service) == {first: ["1A"], second: ["3A", "4B"]}
    assert ticket_of(service, third)["merged_into"] == second
    merged = next(a for a in acts_of(service, second) if a["what"].startswith("4B moved"))

    done(service, f"acts/{merged['id']}/undo")

    assert homes_by_ticket(service) == {first: ["1A"], second: ["3A"], third: ["4B"]}
    assert len(ticket_of(service, third)["pinned"]) == 1
    shake(service)
    ticket(service, "3B")
    assert homes_by_ticket(service) == {first: ["1A"], second: ["3A", "3B"], third: ["4B"]}


def test_undoing_a_join_gives_the_newcomer_a_ticket_of_its_own(service: Running) -> None:
    """A complaint that grouping has put on a ticket at once gets its own, and stays there."""
    first = ticket(service, "1A")
    assert ticket(service, "1B") == first
    joined = acts_of(service, first)[0]

    own = done(service, f"acts/{joined['id']}/undo")

    assert [own["apartments"], own["pinned"]] == [["1B"], own["complaints"]]
    shake(service)
    service.text(mobile("2A"), COLD)
    assert homes_by_ticket(service) == {first: ["1A", "2A"], own["id"]: ["1B"]}


def test_tickets_of_unknown_homes_are_not_regrouped(service: Running) -> None:
    """Before anybody knows where it is, a complaint is neither merged nor pinned."""
    nowhere = service.text("+12125550151", "no heat")
    placed = ticket(service, "1A")
    version = ticket_of(service, nowhere["ticket"])["version"]
    for path, body in {
        f"tickets/{nowhere['ticket']}/merge": {"into": placed},
        f"complaints/{nowhere['complaint']}/pin": {"ticket": nowhere["ticket"]},
    }.items():
        assert refused(service, path, version=version, **body)
    at = (EVENING + timedelta(hours=3)).isoformat()
    after = act(service, nowhere["ticket"], "respond-by", at=at, reason="we call them")
    assert after["because"][0]["rule"] == "we call them"


def test_a_repaired_ticket_is_not_split_by_undoing(service: Running) -> None:
    """A merge can no longer be undone when the merged ticket has been closed with its complaints."""
    cold, hot = ticket(service, "1A"), ticket(service, "4A", HOT)
    act(service, cold, "merge", into=hot)
    number = acts_of(service, hot)[0]["id"]
    service.close(hot)

    assert "have ended" in refused(service, f"acts/{number}/undo")
