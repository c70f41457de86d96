"""Photos that tenants send with a report.

A photo is never kept as it came. It is decoded within limits and made anew from its pixels, so that
places, names of devices and anything hidden in the file are gone.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from PIL import Image, ImageOps
from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Complaint, HomePhoto
from service.usecases.hearing.web_doors import Door
from service.usecases.loading.page_names import page_name
from service.usecases.rows.complaint_rows import find_complaint
from service.usecases.rows.ids import new_id
from service.usecases.rows.services import Services
from service.usecases.rows.ticket_rows import record_event
from service.usecases.rows.views import PhotoLine

__all__ = [
    "LARGEST_BYTES",
    "Outcome",
    "Picture",
    "keep_photo",
    "made_anew",
    "photo_bytes",
    "photos_of_ticket",
]

# Phones write 3 to 9 MB, and up to 50 megapixels (common practice, no source).
LARGEST_BYTES: Final = 12 * 1024 * 1024
MOST_PIXELS: Final = 40_000_000
MOST_PIXELS_JPEG: Final = 64_000_000  # which is decoded at the size that we keep
MOST_PHOTOS: Final = 6  # a report
LONGEST_SIDE: Final = 1600
QUALITY: Final = 80
KINDS: Final = ("JPEG", "PNG", "WEBP")

# Our own, lower limit is checked before any pixel is decoded.
Image.MAX_IMAGE_PIXELS = None


# What became of a photo: kept; or no file, too large a one, none that we can open; or it is not needed,
# because there are enough or nothing is open any more.
Outcome = Literal["kept", "none", "large", "unknown", "enough", "closed"]


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture without anything but its pixels, as JPEG."""

    content: bytes
    width: int
    height: int


def keep_photo(services: Services, now: datetime, door: Door, once: str, raw: bytes) -> Outcome:
    """Keep a photo with the home's open report."""
    if not 0 < len(raw) <= LARGEST_BYTES:
        return "large" if raw else "none"
    picture = made_anew(raw)
    if picture is None:
        return "unknown"
    with services.db.transaction() as session:
        complaint = find_complaint(session, page_name(door.home), door.home)
        name = f"{door.building}/{door.apartment}/{once}"
        sent = session.scalar(select(HomePhoto.id).where(HomePhoto.once == name))
        if sent is not None:
            return "kept"
        if complaint is None:
            return "closed"
        if len(_of_complaint(session, complaint)) >= MOST_PHOTOS:
            return "enough"
        _add(session, now, complaint, name, picture)
    return "kept"


def _add(
    session: Session, now: datetime, complaint: Complaint, name: str, picture: Picture
) -> None:
    photo = HomePhoto(
        id=new_id("f"),
        complaint_id=complaint.id,
        once=name,
        at=now,
        width=picture.width,
        height=picture.height,
        content=picture.content,
    )
    session.add(photo)
    session.flush()
    if complaint.ticket_id is not None:
        body = {"complaint": complaint.id, "photo": photo.id}
        record_event(session, now, complaint.ticket_id, "photo", body)


def photo_bytes(session: Session, photo_id: str) -> bytes | None:
    """A photo as JPEG, for staff."""
    return session.scalar(select(HomePhoto.content).where(HomePhoto.id == photo_id))


def photos_of_ticket(session: Session, ticket_id: str) -> tuple[PhotoLine, ...]:
    """The photos of all complaints of a ticket, oldest first; without their bytes."""
    rows = session.execute(
        select(HomePhoto.id, Complaint.apartment, HomePhoto.at, HomePhoto.width, HomePhoto.height)
        .join(Complaint, Complaint.id == HomePhoto.complaint_id)
        .where(Complaint.ticket_id == ticket_id)
        .order_by(HomePhoto.at, HomePhoto.id)
    )
    return tuple(PhotoLine(photo, home or "", at, w, h) for photo, home, at, w, h in rows)


def _of_complaint(session: Session, complaint: Complaint) -> list[str]:
    return list(session.scalars(select(HomePhoto.id).where(HomePhoto.complaint_id == complaint.id)))


def made_anew(raw: bytes) -> Picture | None:
    """The picture as a plain JPEG; None for what we do not take.

    What a file calls itself does not count, only its content.
    """
    if not 0 < len(raw) <= LARGEST_BYTES:
        return None
    try:
        with Image.open(io.BytesIO(raw), formats=KINDS) as opened:
            most = MOST_PIXELS_JPEG if opened.format == "JPEG" else MOST_PIXELS
            if opened.width * opened.height > most:
                return None
            opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except Exception:  # noqa: BLE001 - a decoder fails in many ways, and none is worth a difference
        return None
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    clean = Image.frombytes("RGB", upright.size, upright.tobytes())
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=QUALITY)
    return Picture(out.getvalue(), clean.width, clean.height)
