"""A calendar server's password: from the environment, the keyring or the terminal."""

from __future__ import annotations

import os
from collections.abc import Callable
from importlib import import_module

from calendars.entries import CalendarError
from calendars.publish.caldav import Address

USER_VARIABLE = "LIVEFOOD_CALDAV_USER"
PASSWORD_VARIABLE = "LIVEFOOD_CALDAV_PASSWORD"
#: Under which name the keyring holds it; the account is ``user@host``.
SERVICE = "livefood"


def user_of(address: Address, given: str | None) -> str:
    """Who publishes.

    Raises:
        CalendarError: nobody was named.
    """
    user = given or address.user or os.environ.get(USER_VARIABLE, "")
    if not user or ":" in user:
        raise CalendarError(f"say who publishes: --user NAME, or set {USER_VARIABLE}")
    return user


def password_of(address: Address, user: str, ask: Callable[[str], str | None]) -> str:
    """The password of a user on a server.

    Args:
        ask: prompts on a terminal; None where there is none.

    Raises:
        CalendarError: there is no way to ask.
    """
    account = f"{user}@{address.host}"
    found = os.environ.get(PASSWORD_VARIABLE) or _from_keyring(account)
    found = found or ask(f"Password of {account}")
    if not found:
        raise CalendarError(
            f"no password for {account}: run this on a terminal, set {PASSWORD_VARIABLE}, "
            f"or store it with 'keyring set {SERVICE} {account}'"
        )
    return found


def _from_keyring(account: str) -> str | None:
    try:
        found = import_module("keyring").get_password(SERVICE, account)
    except Exception:
        return None
    return str(found) if found else None
