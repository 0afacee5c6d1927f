"""A photo as a page shows it: upright, as wide as paper needs, without what the camera wrote.

The file kept with the job stays as it was, place and all; what goes to a customer does not tell
where somebody's house stands.
"""

from __future__ import annotations

import io
from base64 import b64encode

WIDEST = 1400  # px of the longer side: 8 inches of paper at 175 dots an inch
MOST_PIXELS = 120_000_000  # of a picture that is opened at all
_QUALITY = 80
_FORMATS = ("JPEG", "PNG", "WEBP")


def image_url(data: bytes) -> str | None:
    """The picture as a `data:` URI, a JPEG; None where the bytes are no JPEG, PNG or WebP."""
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as found:
            if found.width * found.height > MOST_PIXELS:
                return None
            found.draft("RGB", (WIDEST, WIDEST))  # a large JPEG is read at half its size
            shown = ImageOps.exif_transpose(found).convert("RGBA")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError,
            Image.DecompressionBombWarning):
        return None
    shown.thumbnail((WIDEST, WIDEST))
    paper = Image.new("RGB", shown.size, "white")
    paper.paste(shown, mask=shown.getchannel("A"))
    out = io.BytesIO()
    paper.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return f"data:image/jpeg;base64,{b64encode(out.getvalue()).decode('ascii')}"
