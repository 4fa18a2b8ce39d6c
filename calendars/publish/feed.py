"""Where a read-only subscription feed is found: on which address, under which path."""

from __future__ import annotations

import ipaddress

from attrs import frozen

from calendars.entries import CalendarError
from calendars.publish.feed_source import FeedSource

_FILE_NAME = "livefood.ics"


@frozen
class Feed:
    """What is served, and the unguessable part of its path."""

    source: FeedSource
    token: str

    @property
    def path(self) -> str:
        """The one path that it has."""
        return f"/{self.token}/{_FILE_NAME}"


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
