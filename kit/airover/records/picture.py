"""How much a picture would unpack to, told from its head: a small file may hold very much."""

import struct

PNG, JPEG = b"\x89PNG\r\n", b"\xff\xd8\xff"
_FRAMES = set(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}  # a JPEG's segments that tell its size
_MARK = 0xFF  # before each of them
_PROFILE = b"iCCP"  # a PNG's colours, packed


def picture_size(content: bytes) -> tuple[int, int]:
    """Width and height that a PNG or JPEG says it has; zeros where it does not say."""
    if content.startswith(PNG):
        told = content[12:16] == b"IHDR" and len(content) >= 24
        return struct.unpack(">II", content[16:24]) if told else (0, 0)
    place = 2
    while place + 9 <= len(content) and content[place] == _MARK:
        kind, length = struct.unpack(">BH", content[place + 1 : place + 4])
        if kind in _FRAMES:
            height, width = struct.unpack(">HH", content[place + 5 : place + 9])
            return width, height
        place += 1 if kind == _MARK else 2 + length  # any number of marks may stand before a kind
    return 0, 0


def profile_size(content: bytes) -> int:
    """Bytes of a PNG's packed profile of colours; 0 for one without, and for a JPEG."""
    place = 8 if content.startswith(PNG) else len(content)
    while place + 8 <= len(content):
        (length,), kind = (
            struct.unpack(">I", content[place : place + 4]),
            content[place + 4 : place + 8],
        )
        if kind == _PROFILE:
            return length
        place += 12 + length
    return 0
