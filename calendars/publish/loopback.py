"""Which addresses only this machine can reach."""

from __future__ import annotations

import ipaddress


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach an address; a name other than localhost counts as not."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
