"""Which addresses a feed may be served on, and which only this machine can reach."""

from __future__ import annotations

import ipaddress

from calendars.entries import CalendarError


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach an address; a name other than localhost counts as not."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def check_address(address: str) -> str:
    """An IP address to listen on, or localhost.

    Raises:
        CalendarError: it is neither.
    """
    if address == "localhost":
        return "127.0.0.1"
    try:
        return str(ipaddress.ip_address(address))
    except ValueError as error:
        raise CalendarError(
            f"'{address}' is not an IP address of this machine, like 192.168.1.20"
        ) from error
