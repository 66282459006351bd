"""What can go wrong with starting the page."""

from __future__ import annotations

from tintmix.errors import TintmixError


class PortTaken(TintmixError):
    """A port that something else listens on, or that one may not use."""

    def __init__(self, port: int, reason: str) -> None:
        other = port + 1 if port < 65535 else port - 1
        super().__init__(
            f"port {port}: cannot be used ({reason}). The page may be open already; or choose another with --port {other}."
        )
