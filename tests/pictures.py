"""Small pictures for the tests, sound and broken, made with a seed where they are random."""

import io
import struct
import zlib

from PIL import Image


def a_picture(kind: str = "PNG", size: tuple[int, int] = (80, 40), **options: object) -> bytes:
    """A picture of one colour."""
    stream = io.BytesIO()
    Image.new("RGB", size, (200, 180, 90)).save(stream, format=kind, **options)
    return stream.getvalue()


def with_metadata() -> bytes:
    """A JPEG that a camera turned and signed: 80 x 40 pixels stored, to be shown upright as 40 x 80."""
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: turn right (EXIF 2.3, 4.6.4 A)
    exif[0x010E] = "stage door code 4711"  # ImageDescription
    return a_picture("JPEG", exif=exif, comment=b"stage door code 4711")


def claiming(width: int, height: int) -> bytes:
    """A tiny PNG whose header claims a huge size (PNG specification, 3rd edition, 11.2.1)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")
    )
