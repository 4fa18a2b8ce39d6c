"""On which address a read-only subscription feed is found."""

from __future__ import annotations

import ipaddress

from calendars.entries import CalendarError


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
