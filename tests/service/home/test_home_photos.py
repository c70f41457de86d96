"""Photos: what they are by their content, within limits, made anew, and for staff alone."""

from __future__ import annotations

import io

import pytest
from at_the_door import Visitor, visitor
from PIL import Image
from sqlalchemy import select
from test_home_doors import signed_in
from whole_service import Running

from service.auth.roles import Role
from service.store.tables import Complaint, HomePhoto

UNKNOWN = "JPEG, PNG or WebP"
# How files of some phones begin: ISO base media, brand "heic" (ISO/IEC 23008-12, from memory).
HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\x5a" * 2000


def picture(kind: str, size: tuple[int, int] = (640, 480), **more: object) -> bytes:
    """A picture file."""
    out = io.BytesIO()
    Image.new("RGB", size, (180, 90, 40)).save(out, kind, **more)
    return out.getvalue()


def with_report(service: Running) -> Visitor:
    """A household whose report is open."""
    at = visitor(service)
    at.send("report", kinds=["leak"])
    return at


def send(at: Visitor, content: bytes, once: str = "p" * 20, name: str = "x.jpg") -> None:
    """Attach a file."""
    at.send_exactly("photo", {"once": once}, files={"photo": (name, content, "image/jpeg")})


def kept(service: Running) -> list[HomePhoto]:
    """What is stored."""
    with service.services.db.reading() as session:
        found = list(session.scalars(select(HomePhoto)))
        session.expunge_all()
    return found


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_as_a_plain_jpeg(service: Running, kind: str) -> None:
    """Three kinds by content, whatever the name says."""
    at = with_report(service)
    send(at, picture(kind), name="holiday.txt")
    (photo,) = kept(service)
    with Image.open(io.BytesIO(photo.content)) as stored:
        assert (stored.format, stored.size) == ("JPEG", (640, 480))
    at.send("answer", choice="0")
    assert at.status == 200


def test_where_it_was_taken_is_gone(service: Running) -> None:
    """No metadata survives: no place, no device, no comment, no hidden tail."""
    exif = Image.Exif()
    exif[0x010F] = "Secret Phone Maker"
    exif.get_ifd(0x8825)[1] = "N"
    raw = picture("JPEG", exif=exif, comment=b"secret comment") + b"<script>secret tail</script>"
    at = with_report(service)
    send(at, raw)
    (photo,) = kept(service)
    assert b"ecret" in raw
    assert b"ecret" not in photo.content
    with Image.open(io.BytesIO(photo.content)) as stored:
        assert not stored.getexif()


def test_a_large_photo_is_made_small(service: Running) -> None:
    """The longer side has at most 1600 pixels."""
    at = with_report(service)
    send(at, picture("JPEG", (4000, 3000)))
    (photo,) = kept(service)
    assert (photo.width, photo.height) == (1600, 1200)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "Pick a photo first"),
        (b"\x00" * 1000, UNKNOWN),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", UNKNOWN),
        (picture("GIF"), UNKNOWN),
        (HEIC, UNKNOWN),
        (b"%PDF-1.4\n" + b"x" * 500, UNKNOWN),
        (picture("PNG", (50_000, 900)), UNKNOWN),  # 45 megapixels in a small file
        (picture("JPEG")[:500], UNKNOWN),
        (b"\xff\xd8\xff" + b"x" * (12 * 1024 * 1024 + 10), "too big"),
    ],
    ids=["empty", "zeros", "svg", "gif", "heic", "pdf", "bomb", "cut off", "too large"],
)
def test_what_is_no_photo_is_refused_in_words(service: Running, content: bytes, says: str) -> None:
    """An error on the page that says what to do, nothing stored."""
    at = with_report(service)
    send(at, content)
    assert at.status == 422
    assert says in at.words
    assert kept(service) == []


def test_far_too_much_is_not_even_read(service: Running) -> None:
    """Beyond 16 MB reading ends, and it is said in words; other forms keep the limit of 1 MB."""
    at = with_report(service)
    send(at, b"x" * (17 * 1024 * 1024))
    assert "too big" in at.words
    at.send_exactly("report", {"words": "x" * (2 * 1024 * 1024)})
    assert (at.status, at.heading) == (413, "This did not work")
    assert kept(service) == []


def test_it_is_said_that_the_photo_arrived(service: Running) -> None:
    """On whatever page comes next, a question too; so nobody sends it again."""
    at = with_report(service)
    send(at, picture("JPEG"))
    assert "We have your photo" in at.words


def test_a_phones_largest_photo_is_taken(service: Running) -> None:
    """Fifty megapixels, as phones write them."""
    at = with_report(service)
    send(at, picture("JPEG", (8160, 6144)))
    (photo,) = kept(service)
    assert max(photo.width, photo.height) <= 1600


def test_more_than_six_are_enough(service: Running) -> None:
    """The seventh is not kept, and nobody is told to wait and send it again."""
    at = with_report(service)
    for n in range(7):
        send(at, picture("JPEG"), once=f"{n}" * 20)
    assert len(kept(service)) == 6
    assert at.status == 200
    assert "all the photos we need" in at.words


def test_sending_it_twice_keeps_one(service: Running) -> None:
    """The form's word counts, as with all forms."""
    at = with_report(service)
    for _ in range(2):
        send(at, picture("JPEG"))
    assert len(kept(service)) == 1


def test_only_staff_on_the_ticket_see_it(service: Running) -> None:
    """On the ticket page of desk and truck; not for the tenant, not for the owner."""
    at = with_report(service)
    send(at, picture("JPEG"))
    (photo,) = kept(service)
    with service.services.db.reading() as session:
        ticket = session.scalars(select(Complaint.ticket_id)).one()
    address = f"/photos/{photo.id}"
    assert photo.id not in at.page
    assert service.call("GET", address).status_code == 401
    for role, status in ((Role.OWNER, 403), (Role.DESK, 200), (Role.TRUCK, 200)):
        headers = signed_in(service, role)
        answer = service.call("GET", address, headers=headers)
        assert answer.status_code == status
        if status == 200:
            assert answer.headers["content-type"] == "image/jpeg"
            page = service.call("GET", f"/{role.value}/tickets/{ticket}", headers=headers)
            assert f'src="{address}"' in page.text
