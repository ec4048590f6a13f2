"""Plan pictures of levels: checked, made anew without what a camera or program wrote into them, and kept apart.

A picture is a file under a random name in the data folder; no address leads to it but the ones that check the
caller. A file stays when its level gets another picture or loses it: the history refers to it, so undo works.
"""

import io
import secrets
import struct
import warnings
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from PIL import Image, ImageOps

from showplan.records.models import Level, Venue
from showplan.services.editing import edit
from showplan.services.errors import FieldFault, InvalidInput, NotFound
from showplan.services.rights import Caller, one_of, refuse_unless_editor

FIELD = "plan_picture"
FOLDER = "plan-pictures"
MOST_BYTES = 8_000_000
MOST_PIXELS = 40_000_000
# Pillow's name of each format we take, with the ending and the media type of the file we make.
FORMATS = {"PNG": ("png", "image/png"), "JPEG": ("jpg", "image/jpeg"), "WEBP": ("webp", "image/webp")}
MEDIA_TYPES = dict(FORMATS.values())
# What Pillow raises on files that are cut off or broken on purpose.
BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, struct.error)


@dataclass(frozen=True)
class StoredPicture:
    """A level's picture: file name, media type, size in pixels."""

    name: str
    media_type: str
    width_px: int
    height_px: int

    def read(self) -> bytes:
        """The bytes of the file."""
        with default_storage.open(self.name) as file:
            content: bytes = file.read()
        return content


def level_for(venue: Venue, level_id: UUID) -> Level:
    """A level of a venue. Raises NotFound."""
    level = one_of(Level.objects.filter(venue=venue), level_id, "level")
    level.venue = venue
    return level


def picture_of(level: Level) -> StoredPicture | None:
    """The level's picture, or None; one whose file is gone counts as none."""
    name = level.plan_picture.name if level.plan_picture else ""
    if not name or not default_storage.exists(name):
        return None
    with default_storage.open(name) as file, Image.open(file) as picture:
        width_px, height_px = picture.size
    return StoredPicture(name, MEDIA_TYPES[name.rpartition(".")[2]], width_px, height_px)


def stored_picture(level: Level) -> StoredPicture:
    """The level's picture. Raises NotFound where it has none."""
    found = picture_of(level)
    if found is None:
        raise NotFound(f"level {level.name!r} has no plan picture")
    return found


def set_picture(caller: Caller, level: Level, content: bytes, based_on: int | None) -> Level:
    """Give a level a picture, in place of any it has.

    A level without a scale gets the one at which the picture is as wide as the level. Raises InvalidInput for what is
    no sound picture, StaleWrite.
    """
    refuse_unless_editor(caller, level.venue.project)
    ending, clean, width_px = made_anew(content)
    name = default_storage.save(f"{FOLDER}/{secrets.token_hex(16)}.{ending}", ContentFile(clean))
    values: dict[str, Any] = {FIELD: name}
    if level.plan_metres_per_pixel is None:
        values["plan_metres_per_pixel"] = level.width_m / width_px
    try:
        with edit(level.venue.project, caller.actor()) as change:
            change.update(level, values, based_on=based_on)
    except Exception:
        default_storage.delete(name)
        raise
    return level


def remove_picture(caller: Caller, level: Level, based_on: int | None) -> Level:
    """Take a level's picture away; its scale stays. Raises NotFound where it has none, StaleWrite."""
    refuse_unless_editor(caller, level.venue.project)
    stored_picture(level)
    with edit(level.venue.project, caller.actor()) as change:
        change.update(level, {FIELD: ""}, based_on=based_on)
    return level


def made_anew(content: bytes) -> tuple[str, bytes, int]:
    """(ending, bytes, width in pixels) of the same picture written again: upright, first frame, no metadata."""
    if len(content) > MOST_BYTES:
        raise _fault(f"the file has {len(content)} bytes; the most is {MOST_BYTES}")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # our own limit is lower
            picture = Image.open(io.BytesIO(content), formats=tuple(FORMATS))
    except Image.DecompressionBombError as error:
        raise _too_large() from error
    except BROKEN as error:
        raise _fault("this is no PNG, JPEG or WebP picture") from error
    with picture:
        if picture.width * picture.height > MOST_PIXELS:
            raise _too_large()
        kind = picture.format or ""
        try:
            clean = _pixels_only(picture, kind)
        except BROKEN as error:
            raise _fault("the picture is cut off or broken") from error
    stream = io.BytesIO()
    clean.save(stream, format=kind, **({"quality": 90} if kind != "PNG" else {}))
    return FORMATS[kind][0], stream.getvalue(), clean.width


def _pixels_only(picture: Image.Image, kind: str) -> Image.Image:
    """The pixels, turned as the camera says, in a fresh picture that carries nothing else."""
    upright = ImageOps.exif_transpose(picture)
    has_holes = "A" in upright.mode or "transparency" in upright.info
    pixels = upright.convert("RGBA" if has_holes and kind != "JPEG" else "RGB")
    fresh = Image.new(pixels.mode, pixels.size)
    fresh.paste(pixels)
    return fresh


def _too_large() -> InvalidInput:
    return _fault(f"the picture has too many pixels; the most is {MOST_PIXELS // 1_000_000} million")


def _fault(message: str) -> InvalidInput:
    return InvalidInput([FieldFault(FIELD, message)])
