"""A calendar collection on a server: fetch, store and delete one resource (RFC 4791, RFC 9110).

Every write is conditional: a resource is created only where none stands (``If-None-Match: *``),
and changed or deleted only as it was last seen (``If-Match``). A request whose answer was lost
can therefore be sent again without harm.
"""

from __future__ import annotations

import base64
import http.client
import ssl
from collections.abc import Mapping
from contextlib import AbstractContextManager
from types import MappingProxyType
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree

from attrs import frozen

from calendars.entries import CalendarError
from calendars.publish.loopback import is_loopback

_TIMEOUT_S = 20.0
_LARGEST_ANSWER = 4 * 1024 * 1024
_DAV = "{DAV:}"
_CALDAV = "{urn:ietf:params:xml:ns:caldav}"
_PROPFIND = b"""<?xml version="1.0" encoding="utf-8"?>
<propfind xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav">
<prop><resourcetype/><C:supported-calendar-component-set/></prop></propfind>"""
_ETAGS = b"""<?xml version="1.0" encoding="utf-8"?>
<propfind xmlns="DAV:"><prop><getetag/></prop></propfind>"""


class ConnectionLostError(CalendarError):
    """The server cannot be reached, or went away."""


@frozen
class Address:
    """Where a collection is.

    Attributes:
        path: begins and ends with a slash. user: from the address, or "".
    """

    secure: bool
    host: str
    port: int
    path: str
    user: str

    @property
    def url(self) -> str:
        """Without the user."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        usual = 443 if self.secure else 80
        port = "" if self.port == usual else f":{self.port}"
        return f"{'https' if self.secure else 'http'}://{host}{port}{self.path}"


def parse_address(text: str) -> Address:
    """The address of a collection.

    Raises:
        CalendarError: it is no web address, would send the password in the clear, or holds it.
    """
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise CalendarError(f"the address of the calendar cannot be read ({error})") from error
    if parts.password is not None:
        raise CalendarError(
            "leave the password out of the address, where others can see it; it is asked for, or "
            "taken from LIVEFOOD_CALDAV_PASSWORD or the keyring"
        )
    if parts.scheme not in ("https", "http") or not parts.hostname:
        raise CalendarError(
            f"'{text}' is not the address of a calendar, like https://host/calendars/me/jobs/"
        )
    if parts.query or parts.fragment:
        raise CalendarError(f"'{text}': the address of a calendar has no ? or # part")
    secure = parts.scheme == "https"
    if not secure and not is_loopback(parts.hostname):
        raise CalendarError(
            f"{parts.hostname}: over plain http everybody on the way reads your password; use https"
        )
    return Address(
        secure=secure, host=parts.hostname, port=port or (443 if secure else 80),
        path=(parts.path or "/").rstrip("/") + "/", user=parts.username or "",
    )  # fmt: skip


@frozen
class Answer:
    """What the server said."""

    status: int
    etag: str
    data: bytes


class Collection(AbstractContextManager["Collection"]):
    """One calendar on a server; use it as a context manager.

    Args:
        address: from `parse_address`. user, password: for Basic authentication.
    """

    def __init__(self, address: Address, user: str, password: str) -> None:
        self.address = address
        secret = base64.b64encode(f"{user}:{password}".encode()).decode()
        self._headers = {"Authorization": f"Basic {secret}", "User-Agent": "livefood"}
        self._connection = _connection(address)

    def __exit__(self, *_: object) -> None:
        self._connection.close()

    def check(self, component: str) -> None:
        """See that a calendar stands here that takes events or to-dos.

        Args:
            component: VEVENT or VTODO.

        Raises:
            CalendarError: it does not, or the password is wrong.
        """
        tree = self._properties("0", _PROPFIND, "look at")
        if tree.find(f".//{_DAV}resourcetype/{_CALDAV}calendar") is None:
            raise CalendarError(
                f"{self.address.url}: is not a calendar; give the address of one calendar in it"
            )
        taken = [c.get("name") for c in tree.iter(f"{_CALDAV}comp")]
        if taken and component not in taken:
            kind = "to-dos" if component == "VTODO" else "events"
            raise CalendarError(f"{self.address.url}: this calendar takes no {kind}")

    def _properties(self, depth: str, wanted: bytes, verb: str) -> ElementTree.Element:
        """What the server says of the calendar, or of what is in it."""
        headers = {"Depth": depth, "Content-Type": "application/xml; charset=utf-8"}
        answer = self._ask("PROPFIND", "", wanted, headers)
        if answer.status != 207:
            raise self._refused(verb, answer.status)
        try:
            return ElementTree.fromstring(answer.data)
        except ElementTree.ParseError as error:
            raise CalendarError(f"{self.address.url}: the server's answer is not WebDAV") from error

    def etags(self) -> dict[str, str]:
        """What stands there: the ETag of each resource by its name.

        Raises:
            CalendarError: the server does not say.
        """
        tree = self._properties("1", _ETAGS, "look into")
        found = {}
        for each in tree.iter(f"{_DAV}response"):
            name = unquote(urlsplit(each.findtext(f"{_DAV}href", "")).path).rpartition("/")[2]
            etag = each.findtext(f".//{_DAV}getetag", "")
            if name and etag:
                found[name] = etag
        return found

    def get(self, name: str) -> Answer | None:
        """A resource, or None if there is none."""
        answer = self._ask("GET", name)
        if answer.status in (404, 410):
            return None
        if answer.status != 200:
            raise self._refused(f"fetch {name} from", answer.status)
        return answer

    def put(self, name: str, data: bytes, etag: str | None) -> str | None:
        """Store a resource; its new ETag, or None if another version stands there.

        Args:
            etag: of the version to replace; None to create.
        """
        headers = {"Content-Type": "text/calendar; charset=utf-8"}
        headers.update({"If-None-Match": "*"} if etag is None else {"If-Match": etag})
        answer = self._ask("PUT", name, data, headers)
        if answer.status == 412 or (etag is not None and answer.status in (404, 410)):
            return None
        if answer.status not in (200, 201, 204):
            raise self._refused(f"store {name} in", answer.status)
        if answer.etag:
            return answer.etag
        # Without an ETag the server may have stored something else than was sent (RFC 4791, 5.3.4).
        stored = self.get(name)
        return stored.etag if stored is not None else ""

    def delete(self, name: str, etag: str) -> bool:
        """Delete a resource; False if another version stands there."""
        answer = self._ask("DELETE", name, None, {"If-Match": etag})
        if answer.status == 412:
            return False
        if answer.status not in (200, 202, 204, 404, 410):
            raise self._refused(f"delete {name} from", answer.status)
        return True

    def _ask(
        self, method: str, name: str, data: bytes | None = None,
        headers: Mapping[str, str] = MappingProxyType({}), *, again: bool = True,
    ) -> Answer:  # fmt: skip
        """What the server says; asked once more if the connection breaks, which http.client
        then makes anew."""
        path, sent = self.address.path + name, {**self._headers, **headers}
        try:
            self._connection.request(method, path, body=data, headers=sent)
            response = self._connection.getresponse()
            body = response.read(_LARGEST_ANSWER + 1)
        except (OSError, http.client.HTTPException) as error:
            self._connection.close()
            if again:
                return self._ask(method, name, data, headers, again=False)
            raise ConnectionLostError(f"{self.address.host}: {_reason(error)}") from error
        if len(body) > _LARGEST_ANSWER:
            raise CalendarError(f"{self.address.host}: the server's answer is too large")
        challenge = response.getheader("WWW-Authenticate", "").lower()
        if response.status == 401 and challenge and "basic" not in challenge:
            raise CalendarError(
                f"{self.address.host}: the server does not take a plain password; switch its "
                "sign-in to Basic (over https)"
            )
        return Answer(response.status, response.getheader("ETag") or "", body)

    def _refused(self, doing: str, status: int) -> CalendarError:
        reasons = {
            401: "user name or password is wrong",
            403: "this user may not do that",
            404: "there is no calendar at this address; make one on the server first",
            409: "the server holds this entry under another name: was a file imported there too?",
            507: "the server has no room left",
        }
        reason = reasons.get(status, http.client.responses.get(status, "no reason given"))
        if 300 <= status < 400:
            reason = "the calendar stands at another address; look it up in the server's settings"
        return CalendarError(f"could not {doing} {self.address.url}: {reason} ({status})")


def _connection(address: Address) -> http.client.HTTPConnection:
    """One that is made at the first request."""
    if not address.secure:
        return http.client.HTTPConnection(address.host, address.port, timeout=_TIMEOUT_S)
    return http.client.HTTPSConnection(
        address.host, address.port, timeout=_TIMEOUT_S, context=ssl.create_default_context()
    )


def _reason(error: Exception) -> str:
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"its certificate is not trusted ({error.verify_message})"
    if isinstance(error, OSError) and error.strerror:
        return error.strerror.lower()
    return str(error).lower() or type(error).__name__
