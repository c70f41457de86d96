"""Signing in with a password, accounts and their admin, numbers shown, and what is noted of it."""

from __future__ import annotations

import html
import re
import threading
from datetime import timedelta
from pathlib import Path

from devices import PASSWORD, Device, everything_noted, noted, person, signed_in
from sqlalchemy import func, select
from whole_service import EVENING, KeepingGateway, Running, running

from service.auth.links import issue_link
from service.auth.passwords import AT_ONCE, _places
from service.auth.roles import Role
from service.auth.sign_in_limits import begin_try
from service.auth.who import COMMAND_LINE
from service.clock import ManualClock
from service.settings import Settings
from service.store.tables import Account, SignInTry
from service.usecases.staff.accounts import reset_account

ANOTHER = "nine quiet otters knit"
TENANT = "+12125550120"


def tries_of(service: Running) -> int:
    """How many tries with a password there have been."""
    with service.services.db.reading() as session:
        return session.scalar(select(func.count()).select_from(SignInTry)) or 0


def test_a_password_leads_to_the_door_of_the_role(empty: Running) -> None:
    """However the login is spelt; the way in and out is noted."""
    doors = {Role.DESK: "/desk", Role.TRUCK: "/truck", Role.OWNER: "/owner", Role.ADMIN: "/admin"}
    for role, door in doors.items():
        device, login = Device(empty), person(empty, f"m-{role}", role)
        answer = device.sign_in(f" {login.upper()} ")
        assert (answer.status_code, answer.headers["location"]) == (303, door)
        assert device.get(door).status_code == 200
        assert device.get("/sign-in").headers["location"] == door
        device.post("/sign-out")
        assert device.get(door).status_code == 401
        assert noted(empty)[-2:] == [(login, "signed in", login), (login, "signed out", login)]


def test_nobody_learns_which_accounts_there_are(empty: Running) -> None:
    """Unknown, wrong, switched off, without a password: one answer; what was typed is not kept."""
    person(empty, "moreno", Role.DESK)
    person(empty, "fresh", Role.DESK, password=False)
    person(empty, "gone", Role.DESK)
    person(empty, "boss", Role.ADMIN)
    signed_in(empty, "boss").post("/admin/accounts/gone/off")
    tried = [
        ("moreno", ANOTHER),
        ("nobody-here", PASSWORD),
        ("gone", PASSWORD),
        ("fresh", "x" * 20),
    ]
    answers = [Device(empty).sign_in(login, password) for login, password in tried]
    assert {a.status_code for a in answers} == {422}
    said = {
        a.text.replace(f'value="{login}"', "") for a, (login, _) in zip(answers, tried, strict=True)
    }
    assert len(said) == 1
    assert "The account or the password is not right." in said.pop()
    assert not any(a.cookies for a in answers)
    assert noted(empty)[-4:] == [
        ("nobody", "sign-in refused", who) for who in ("moreno", "unknown account", "gone", "fresh")
    ]
    assert "nobody-here" not in everything_noted(empty)  # it may be a password in the wrong field


def test_who_tries_too_often_waits(empty: Running) -> None:
    """429 with the time in words and in Retry-After, for a right password too; then it works."""
    person(empty, "moreno", Role.DESK)
    with empty.services.db.transaction() as session:
        for _ in range(10):
            begin_try(session, empty.services.now(), "moreno", "192.0.2.1")
    answer = Device(empty).sign_in("moreno")
    assert answer.status_code == 429
    assert "Try again in 15 minutes" in answer.text
    assert answer.headers["retry-after"] == "900"
    empty.wait(minutes=15)
    assert Device(empty).sign_in("moreno").status_code == 303


def test_signing_in_leads_back_but_never_away(empty: Running) -> None:
    """Only to pages of ours for staff."""
    person(empty, "moreno", Role.DESK)
    for to, there in (
        ("/desk/tickets/t_abc", "/desk/tickets/t_abc"),
        ("", "/desk"),
        ("//evil.example", "/desk"),
        ("/deskevil.example", "/desk"),
        ("/desk/x\r\nSet-Cookie: a=b", "/desk"),
    ):
        answer = Device(empty).sign_in("moreno", to=to)
        assert (answer.status_code, answer.headers["location"]) == (303, there)


def test_a_page_that_asks_to_sign_in_remembers_where(empty: Running) -> None:
    """After an idle hour one comes back to the same ticket."""
    person(empty, "moreno", Role.DESK)
    refused = Device(empty).get("/desk/tickets/t_abc")
    address = html.unescape(re.findall(r'href="(/sign-in[^"]*)"', refused.text)[0])
    assert 'name="to" value="/desk/tickets/t_abc"' in Device(empty).get(address).text


def test_a_planted_session_is_of_no_use(empty: Running) -> None:
    """Signing in always makes a new secret and closes the session the device had."""
    person(empty, "moreno", Role.DESK)
    device = signed_in(empty, "moreno")
    before = dict(device.cookies)
    device.sign_in("moreno")
    assert device.cookies != before
    planted = Device(empty)
    planted.cookies = before
    assert planted.get("/desk").status_code == 401
    assert device.get("/desk").status_code == 200


def test_watching_is_not_doing(empty: Running) -> None:
    """A page that refreshes itself keeps nobody signed in; opening pages and sending forms does."""
    person(empty, "moreno", Role.DESK)
    device = signed_in(empty, "moreno")
    for mode, left in (("cors", 401), ("navigate", 200)):
        device.sign_in("moreno")
        for _ in range(7):
            empty.wait(minutes=10)
            answer = device.call("GET", "/desk", headers={"Sec-Fetch-Mode": mode})
        assert answer.status_code == left, mode


def test_over_https_the_cookie_belongs_to_this_host_alone(tmp_path: Path) -> None:
    """RFC 6265bis, 4.1.3.2: __Host-, Secure, Path=/, no Domain."""
    settings = Settings(
        state=tmp_path, smtp_port=0, clock="manual", public_url="https://heat.example"
    )
    with running(settings, ManualClock(EVENING), KeepingGateway()) as service:
        person(service, "moreno", Role.DESK)
        answer = Device(service).sign_in("moreno")
        cookie, keeper = answer.headers.get_list("set-cookie")
        assert re.match(r"__Host-endswitch=[\w-]{43};", cookie)
        parts = {part.strip().lower() for part in cookie.split(";")[1:]}
        assert {"httponly", "secure", "path=/", "samesite=lax", "max-age=43200"} == parts
        assert re.match(r"endswitch-keeper=[0-9a-f]{16};", keeper)  # no secret: scripts read it
        assert "moreno" not in keeper
        assert "secure" in keeper.lower()
        value = cookie.partition("=")[2].partition(";")[0]
        plain = service.call("GET", "/desk", headers={"Cookie": f"endswitch={value}"})
        assert plain.status_code == 401  # a cookie without the prefix may be anybody's
        real = service.call("GET", "/desk", headers={"Cookie": f"__Host-endswitch={value}"})
        assert real.status_code == 200


def test_the_browser_is_told_to_forget_only_when_its_page_says_that_nothing_waits(
    empty: Running,
) -> None:
    """Where the page's script has not run, entries may wait that nobody else has."""
    person(empty, "okafor", Role.TRUCK)
    for path in ("/sign-out", "/account/sign-out-everywhere"):
        for kept, told in (("", None), ("some", None), ("none", '"storage"')):
            answer = signed_in(empty, "okafor").post(path, kept=kept)
            assert answer.status_code == 303
            assert answer.headers.get("clear-site-data") == told


def test_out_everywhere_means_every_device(empty: Running) -> None:
    """One's own sessions end, others' stay; one sees how many there are."""
    person(empty, "moreno", Role.DESK)
    person(empty, "okafor", Role.DESK)
    phone, screen, other = (signed_in(empty, who) for who in ("moreno", "moreno", "okafor"))
    page = phone.get("/account").text
    assert page.count("<li>Since") == 2
    assert "60 minutes after it was last used" in page
    phone.post("/account/sign-out-everywhere")
    assert [d.get("/desk").status_code for d in (phone, screen, other)] == [401, 401, 200]


def test_a_person_changes_their_own_password(empty: Running) -> None:
    """With the present one and a good new one; this device stays signed in, others do not."""
    person(empty, "moreno", Role.TRUCK)
    phone, screen = signed_in(empty, "moreno"), signed_in(empty, "moreno")
    for present, new, says in (
        ("not this one, no", ANOTHER, "present password is not right"),
        (PASSWORD, "short", "at least 15"),
        (PASSWORD, "moreno moreno moreno", "easy to guess"),
    ):
        refused = phone.post("/account/password", present=present, password=new)
        assert refused.status_code == 422
        assert says in refused.text
        assert new not in refused.text
    assert phone.post("/account/password", present=PASSWORD, password=ANOTHER).status_code == 303
    assert (phone.get("/truck").status_code, screen.get("/truck").status_code) == (200, 401)
    assert Device(empty).sign_in("moreno").status_code == 422
    assert Device(empty).sign_in("moreno", ANOTHER).status_code == 303


def link_in(page: str) -> str:
    """The path of the link that a page shows."""
    return re.findall(r'value="http://127\.0\.0\.1:8025(/choose-password/[\w-]{43})"', page)[0]


def test_a_reset_while_a_password_is_being_changed_wins(empty: Running) -> None:
    """Whoever changes it has not finished when the admin resets the account: it stays reset."""
    person(empty, "moreno", Role.DESK)
    device, answers = signed_in(empty, "moreno"), []
    both = [_places.acquire(blocking=False) for _ in range(AT_ONCE)]  # nothing can be compared now
    assert all(both)
    try:
        changing = threading.Thread(
            target=lambda: answers.append(
                device.post("/account/password", present=PASSWORD, password=ANOTHER)
            )
        )
        changing.start()
        while not tries_of(empty):  # until the change has begun
            changing.join(0.01)
        with empty.services.db.transaction() as session:
            reset_account(session, empty.services.now(), COMMAND_LINE, "moreno")
    finally:
        for _ in both:
            _places.release()
    changing.join()
    assert answers[0].status_code == 422
    with empty.services.db.reading() as session:
        assert session.get_one(Account, "moreno").password_hash is None
    assert device.get("/desk").status_code == 401


def test_a_new_account_chooses_its_password_by_a_link_once(empty: Running) -> None:
    """Shown once, looked at often, used once; a weak password uses nothing up."""
    person(empty, "boss", Role.ADMIN)
    admin = signed_in(empty, "boss")
    added = admin.post("/admin/accounts", login="Okafor", name="N. Okafor", role="truck")
    link = link_in(added.text)
    assert link.rpartition("/")[2] not in admin.get("/admin").text
    device = Device(empty)
    for _ in range(2):
        assert "N. Okafor" in device.get(link).text
    weak = device.post(link, password="okafor okafor okafor")
    assert (weak.status_code, "easy to guess" in weak.text) == (422, True)
    chosen = device.post(link, password=ANOTHER)
    assert (chosen.status_code, chosen.headers["location"]) == (303, "/truck")
    assert device.get("/truck").status_code == 200
    again = Device(empty).post(link, password=ANOTHER)
    assert again.status_code == 410
    assert Device(empty).get(link).text == Device(empty).get("/choose-password/invented").text
    assert Device(empty).post(f"/enter/{link.rpartition('/')[2]}").status_code == 410
    assert noted(empty)[-3:] == [
        ("boss", "account added", "okafor"),
        ("okafor", "password set", "okafor"),
        ("okafor", "signed in", "okafor"),
    ]


def test_a_reset_ends_the_old_password_and_all_sessions(empty: Running) -> None:
    """At once, not only when the link is used; the link lasts a day."""
    person(empty, "boss", Role.ADMIN)
    person(empty, "moreno", Role.DESK)
    admin, lost = signed_in(empty, "boss"), signed_in(empty, "moreno")
    link = link_in(admin.post("/admin/accounts/moreno/reset").text)
    assert lost.get("/desk").status_code == 401
    assert Device(empty).sign_in("moreno").status_code == 422
    newer = link_in(admin.post("/admin/accounts/moreno/reset").text)
    assert Device(empty).get(link).status_code == 410
    empty.wait(hours=23, minutes=59)
    assert Device(empty).get(newer).status_code == 200
    empty.wait(minutes=1)
    assert Device(empty).post(newer, password=ANOTHER).status_code == 410


def test_the_admin_changes_roles_and_switches_accounts_off(empty: Running) -> None:
    """It counts with the next request; a switched-off account comes back with its password."""
    person(empty, "boss", Role.ADMIN)
    person(empty, "moreno", Role.DESK)
    admin, device = signed_in(empty, "boss"), signed_in(empty, "moreno")
    assert "Moreno" in admin.get("/admin").text
    assert admin.get("/desk").status_code == 200  # the admin may do what the desk does
    assert device.get("/admin").status_code == 403
    admin.post("/admin/accounts/moreno/role", role="truck")
    assert (device.get("/desk").status_code, device.get("/truck").status_code) == (403, 200)
    admin.post("/admin/accounts/moreno/off")
    assert device.get("/truck").status_code == 401
    assert admin.post("/admin/accounts/moreno/reset").status_code == 409
    admin.post("/admin/accounts/moreno/on")
    assert device.get("/truck").status_code == 401
    assert device.sign_in("moreno").status_code == 303
    admin.post("/admin/accounts/moreno/sign-out")
    assert device.get("/truck").status_code == 401
    acts = [
        act for account, act, subject in noted(empty) if (account, subject) == ("boss", "moreno")
    ]
    assert acts == [
        "role changed",
        "account switched off",
        "account switched on",
        "signed out everywhere",
    ]


def test_the_last_admin_stays(empty: Running) -> None:
    """Neither switched off nor given another role, until there is another who can sign in."""
    person(empty, "boss", Role.ADMIN)
    person(empty, "second", Role.ADMIN, password=False)  # has not chosen a password yet
    admin = signed_in(empty, "boss")
    for path, typed in (("off", {}), ("role", {"role": "desk"})):
        refused = admin.post(f"/admin/accounts/boss/{path}", **typed)
        assert refused.status_code == 409
        assert "only admin" in refused.text
    person(empty, "third", Role.ADMIN)
    assert admin.post("/admin/accounts/boss/off").status_code == 303
    assert admin.get("/admin").status_code == 401


def test_what_cannot_be_an_account_is_said(empty: Running) -> None:
    """With what was typed still there, and nothing of it as HTML."""
    person(empty, "boss", Role.ADMIN)
    admin = signed_in(empty, "boss")
    for login, name, role, says, status in (
        ("m", "M", "desk", "2 to 32 small letters", 422),
        ("link:desk", "M", "desk", "2 to 32 small letters", 422),
        ("command line", "M", "desk", "2 to 32 small letters", 422),
        ('"><b>B', "M", "desk", "2 to 32 small letters", 422),
        ("me", " ", "desk", "give a name", 422),
        ("me", "a\u202eb", "desk", "give a name", 422),
        ("me", "M", "gateway", "choose desk", 422),
        ("me", "M", "", "choose desk", 422),
        ("boss", "<b>B</b>", "desk", "already", 409),
    ):
        answer = admin.post("/admin/accounts", login=login, name=name, role=role)
        assert answer.status_code == status
        assert says.casefold() in answer.text.casefold()
        assert 'id="login"' in answer.text
        assert login in html.unescape(answer.text)
        assert "<b>B" not in answer.text


def test_links_and_accounts_are_told_apart(empty: Running) -> None:
    """A one-time link's session has no password to change; the admin can end all of its kind."""
    person(empty, "boss", Role.ADMIN)
    admin, device = signed_in(empty, "boss"), Device(empty)
    with empty.services.db.transaction() as session:
        secret = issue_link(session, Role.TRUCK, empty.services.now(), timedelta(minutes=5))
    device.post(f"/enter/{secret}")
    assert "Signed in with a link" in device.get("/account").text
    changed = device.post("/account/password", present=PASSWORD, password=ANOTHER)
    assert changed.status_code == 404
    assert ("link:truck", "signed in", "link:truck") in noted(empty)
    with empty.services.db.transaction() as session:
        other_link = issue_link(session, Role.TRUCK, empty.services.now(), timedelta(minutes=5))
    other = Device(empty)
    other.post(f"/enter/{other_link}")
    assert other.post("/account/sign-out-everywhere").status_code == 303
    assert other.get("/truck").status_code == 401
    assert device.get("/truck").status_code == 200  # "everywhere" is no matter of one link's
    admin.post("/admin/accounts/link:truck/sign-out")
    assert device.get("/truck").status_code == 401
