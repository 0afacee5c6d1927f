"""What a page may do: nothing is fetched, and no style or script counts but the known ones."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections.abc import Callable, Iterable
from functools import cache
from importlib import resources

from markupsafe import Markup


def content_policy(
    styles: Iterable[str], scripts: Iterable[str] = (), media: str = "data:"
) -> str:
    """The page's Content-Security-Policy; styles and scripts as they stand between their tags.

    `media`: where sound may come from. Attributes with style or script in them never count.
    """
    told = {
        "default-src": "'none'", "style-src": _sources(styles), "script-src": _sources(scripts),
        "img-src": "data:", "media-src": media, "base-uri": "'none'", "form-action": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in told.items())


def _sources(texts: Iterable[str]) -> str:
    return " ".join(f"'sha256-{_hash(text)}'" for text in texts) or "'none'"


def _hash(text: str) -> str:
    return b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


@cache
def play_script() -> Markup:
    """The one script of a page, that plays its sounds."""
    folder = resources.files("fieldvoice.review").joinpath("templates")
    return Markup(folder.joinpath("sound.js").read_text("utf-8"))


def page_parts(curve_style: str, linked: bool) -> dict[str, Callable[..., object]]:
    """What head_policy.html.j2 and sound_script.html.j2 ask for.

    `curve_style`: of a drawing within the page; `linked`: sounds lie beside the page.
    """
    media = "data: 'self' file:" if linked else "data:"

    def page_policy(*styles: str) -> str:
        return content_policy((*styles, curve_style), [play_script()], media)

    return {"page_policy": page_policy, "page_script": play_script}
