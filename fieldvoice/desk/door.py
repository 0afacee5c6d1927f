"""Who is let in: one browser on this computer that holds the key, and no other page in it.

A page from elsewhere that knows the address must neither read nor write: not by asking (the key is
missing), not by a name that it lets point to this computer (the Host differs), not by a form or a
picture on another page, another port of this computer included (Origin and Sec-Fetch-Site differ).
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field

ADDRESS = "127.0.0.1"  # and no other: nothing of the network reaches it
HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "media-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"),
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    # "no-referrer" would make a form of our own say "Origin: null"
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
_READS = ("GET", "HEAD")


def _secret() -> str:
    return secrets.token_urlsafe(32)


@dataclass
class Door:
    """What is asked of every request. `port` is set once it is known."""

    port: int = 0
    key: str = field(default_factory=_secret)  # in the address that is printed
    pass_: str = field(default_factory=_secret)  # in the cookie that it is exchanged for

    @property
    def host(self) -> str:
        """What a browser calls us."""
        return f"{ADDRESS}:{self.port}"

    @property
    def cookie(self) -> str:
        """Its name; a browser keeps the cookies of all ports of a computer together."""
        return f"fieldvoice-{self.port}"

    @property
    def address(self) -> str:
        """What is printed."""
        return f"http://{self.host}/enter?key={self.key}"

    def fits(self, key: str) -> bool:
        """Whether it is the key that was printed."""
        return hmac.compare_digest(key.encode(), self.key.encode())

    def refuses(
        self, method: str, headers: Mapping[str, str], cookie: str, *, entering: bool = False
    ) -> str | None:
        """Why a request is turned away; None: it is let in.

        `entering`: it brings the key instead of the cookie, perhaps from a link elsewhere.
        """
        if headers.get("Host") != self.host:
            return "this address is not the one that was printed"
        origin, site = headers.get("Origin"), headers.get("Sec-Fetch-Site")
        reads = method in _READS
        if origin != f"http://{self.host}" and (origin is not None or not reads):
            return "another page asked for it"
        if site not in (None, "same-origin", "none") and not (entering and reads):
            return "another page asked for it"
        if not entering and not hmac.compare_digest(cookie.encode(), self.pass_.encode()):
            return "the key is missing; open the address that `fieldvoice review` printed"
        return None
