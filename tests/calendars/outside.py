"""Calendar software outside Python: ical.js under Node, libical through ctypes, khal as a program.

Each says why it is not there instead of passing silently.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import json
import os
import shutil
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.calendars.readers import Seen

ICAL_JS = "ical.js@2.2.1"

_SCRIPT = """
import ICAL from "ical.js";
let text = "";
for await (const piece of process.stdin) text += piece;
const calendar = new ICAL.Component(ICAL.parse(text));
for (const zone of calendar.getAllSubcomponents("vtimezone"))
  ICAL.TimezoneService.register(new ICAL.Timezone(zone));
const seen = [];
for (const item of calendar.getAllSubcomponents().filter(c => c.name != "vtimezone")) {
  const event = new ICAL.Event(item);
  const start = item.getFirstPropertyValue("dtstart");
  const end = item.getFirstPropertyValue(item.name == "vtodo" ? "due" : "dtend");
  const alarms = item.getAllSubcomponents("valarm").map(a => {
    const ring = start.clone();
    ring.addDuration(a.getFirstPropertyValue("trigger"));
    return ring.toUnixTime();
  });
  seen.push({uid: event.uid, start: start.toUnixTime(), end: end.toUnixTime(),
             alarms, title: event.summary ?? "", text: event.description ?? ""});
}
console.log(JSON.stringify(seen));
"""


def moment(seconds: float) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


class IcalJs:
    """Thunderbird's engine, installed from the npm registry into a folder of the tests.

    A folder that holds it already may be named in LIVEFOOD_NODE_FOLDER.
    """

    def __init__(self, folder: Path) -> None:
        node, npm = shutil.which("node"), shutil.which("npm")
        if node is None or npm is None:
            pytest.skip("Node is not installed, so ical.js cannot run")
        self.node = node
        self.folder = Path(os.environ.get("LIVEFOOD_NODE_FOLDER", folder))
        if not (self.folder / "node_modules" / "ical.js").is_dir():
            done = subprocess.run(
                [npm, "install", "--silent", "--no-audit", "--no-fund", ICAL_JS],
                cwd=self.folder,
                capture_output=True,
                text=True,
                timeout=120,
                check=False,
            )
            if done.returncode:
                pytest.skip(f"npm could not install ical.js: {done.stderr.strip()[-200:]}")
        self.script = self.folder / "read.mjs"
        self.script.write_text(_SCRIPT)

    def __call__(self, data: bytes) -> dict[str, Seen]:
        done = subprocess.run(
            [self.node, str(self.script)],
            input=data,
            cwd=self.folder,
            capture_output=True,
            timeout=60,
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        return {
            item["uid"]: Seen(
                item["uid"],
                moment(item["start"]),
                moment(item["end"]),
                max(map(moment, item["alarms"])) if item["alarms"] else None,
                item["title"],
                item["text"],
            )
            for item in json.loads(done.stdout)
        }


_GIVE_POINTERS = (
    "icalparser_parse_string",
    "icalcomponent_get_first_component",
    "icalcomponent_get_next_component",
    "icalcomponent_get_first_property",
)
_GIVE_TEXT = (
    "icalcomponent_get_uid",
    "icalcomponent_get_summary",
    "icalcomponent_get_description",
    "icalproperty_get_value_as_string",
)


class _Time(ctypes.Structure):
    _fields_ = (
        *((name, ctypes.c_int) for name in ("year", "month", "day", "hour", "minute", "second")),
        ("is_date", ctypes.c_int),
        ("is_daylight", ctypes.c_int),
        ("zone", ctypes.c_void_p),
    )


class Libical:
    """The C library behind the calendars of several desktops; it has the strictest checks.

    Found where the system keeps it, or at the path in LIVEFOOD_LIBICAL.
    """

    def __init__(self) -> None:
        path = os.environ.get("LIVEFOOD_LIBICAL") or ctypes.util.find_library("ical")
        if path is None:
            pytest.skip("libical is not installed")
        self.lib = ctypes.CDLL(path)
        for name in _GIVE_POINTERS:
            getattr(self.lib, name).restype = ctypes.c_void_p
        for name in _GIVE_TEXT:
            getattr(self.lib, name).restype = ctypes.c_char_p
        for name in ("icalcomponent_get_dtstart", "icalcomponent_get_dtend"):
            getattr(self.lib, name).restype = _Time
        self.lib.icaltime_as_timet_with_zone.restype = ctypes.c_longlong
        self.lib.icaltime_as_timet_with_zone.argtypes = [_Time, ctypes.c_void_p]

    def kind(self, name: str) -> int:
        return int(self.lib.icalcomponent_string_to_kind(name.encode()))

    def __call__(self, data: bytes) -> dict[str, Seen]:
        root = ctypes.c_void_p(self.lib.icalparser_parse_string(data))
        assert root.value is not None
        assert self.lib.icalcomponent_count_errors(root) == 0
        assert self.lib.icalrestriction_check(root) == 1
        assert self.lib.icalcomponent_count_errors(root) == 0
        seen = {}
        kind = self.kind("VEVENT")
        item = self.lib.icalcomponent_get_first_component(root, kind)
        while item:
            one = self._seen(ctypes.c_void_p(item))
            seen[one.uid] = one
            item = self.lib.icalcomponent_get_next_component(root, kind)
        self.lib.icalcomponent_free(root)
        return seen

    def _seen(self, item: ctypes.c_void_p) -> Seen:
        start = self._instant(self.lib.icalcomponent_get_dtstart(item))
        end = self._instant(self.lib.icalcomponent_get_dtend(item))
        alarm = self.lib.icalcomponent_get_first_component(item, self.kind("VALARM"))
        ring = None
        if alarm:
            trigger = self.lib.icalcomponent_get_first_property(
                ctypes.c_void_p(alarm), self.lib.icalproperty_string_to_kind(b"TRIGGER")
            )
            text = self.lib.icalproperty_get_value_as_string(ctypes.c_void_p(trigger)).decode()
            ring = start + minutes(text)
        return Seen(
            self.lib.icalcomponent_get_uid(item).decode(), start, end, ring,
            self.lib.icalcomponent_get_summary(item).decode(),
            (self.lib.icalcomponent_get_description(item) or b"").decode(),
        )  # fmt: skip

    def _instant(self, time: _Time) -> datetime:
        return moment(self.lib.icaltime_as_timet_with_zone(time, time.zone))


def minutes(text: str) -> timedelta:
    """A duration such as -PT30M, -PT1H30M or PT0S."""
    sign = -1 if text.startswith("-") else 1
    total, number = 0, ""
    for letter in text.lstrip("-+").removeprefix("PT"):
        if letter.isdigit():
            number += letter
        else:
            total += int(number) * {"H": 3600, "M": 60, "S": 1}[letter]
            number = ""
    return timedelta(seconds=sign * total)


class Khal:
    """A calendar for the terminal: imports a file and lists what it holds."""

    def __init__(self, folder: Path) -> None:
        pytest.importorskip("khal", reason="khal is not installed")
        self.config = folder / "config"
        (folder / "vdir").mkdir()
        formats = "timeformat = %H:%M\ndateformat = %Y-%m-%d\nlongdateformat = %Y-%m-%d\n"
        formats += "datetimeformat = %Y-%m-%d %H:%M\nlongdatetimeformat = %Y-%m-%d %H:%M\n"
        self.config.write_text(
            f"[calendars]\n[[jobs]]\npath = {folder / 'vdir'}\ntype = calendar\n[locale]\n{formats}"
            "local_timezone = UTC\ndefault_timezone = UTC\n"
            f"[sqlite]\npath = {folder / 'khal.db'}\n[default]\ndefault_calendar = jobs\n"
        )

    def run(self, *words: str) -> str:
        done = subprocess.run(
            [sys.executable, "-c", "from khal.cli import main_khal; main_khal()",
             "-c", str(self.config), *words],
            capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return done.stdout

    def take_in(self, path: Path) -> None:
        self.run("import", "--batch", "-a", "jobs", str(path))

    def held(self, first_day: str, days: int) -> list[tuple[str, datetime, datetime, str, str]]:
        """UID, start, end, title and status of every event from a day on."""
        shape = "{uid}|{start-date} {start-time}|{end-date} {end-time}|{status}|{title}"
        out = self.run("list", "--day-format", "", "--format", shape, first_day, f"{days}d")
        rows = [line.split("|", 4) for line in out.splitlines() if line]
        return [
            (uid, _utc(start), _utc(end), title, status.strip())
            for uid, start, end, status, title in rows
        ]


def _utc(text: str) -> datetime:
    return datetime.strptime(text, "%Y-%m-%d %H:%M").replace(tzinfo=UTC)
