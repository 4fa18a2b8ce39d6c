"""The room file that ``livefood new`` starts."""

from __future__ import annotations

import json
import os
from datetime import datetime, timedelta
from difflib import get_close_matches
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from cultures.errors import UnknownNameError

_TEMPLATE = """\
# A livefood room. Every key is explained in docs/room-file.md.
# Quantities are numbers in the unit of the key, or text with a unit: "78 F", "10 gal".

[room]
name = {name}
timezone = {timezone}
temperature_c = 23              # air where the cultures stand
as_of = {now}     # when this file is true; what is told and noted later counts
rounds = ["07:30", "18:30"]     # feeding times
awake = ["06:30", "22:30"]      # no task outside
# fridge_c = 5                  # take the # away if harvested nauplii can be kept cold
horizon_days = 28
# units = "us"                  # F, gal, tsp, in and oz on every screen and sheet

# One [[tank]] for each tank, in the order in which you walk.
[[tank]]
name = "A1"
litres = 40
temperature_c = 26

# One [[brood]] for each brood of fry. Say what you know of its age with exactly one of
# spawned, hatched, free_swimming, or length_mm with measured_on. A spawning that lies
# ahead has planned instead; eggs of annual fish in peat have collected, then wetted.
# The classes are listed by: livefood kinds
[[brood]]
name = "first brood"
tank = "A1"
class = "egg_scatterer"
count = 50
spawned = {spawned}

# One [[culture]] for each box or bottle of worms. One still to be bought has planned,
# the day on which it will stand here, in place of started.
[[culture]]
name = "MW-1"
kind = "microworm"
started = {started}
medium_g = 150
surface_cm2 = 180
starter_g = 10

# One [[vessel]] for each bottle or cone that you hatch brine shrimp in.
[[vessel]]
name = "bottle 1"
litres = 1.0
temperature_c = 26
salinity_g_per_l = 25

# What stands in a vessel now:
# [[hatch]]
# vessel = "bottle 1"
# set_at = {started}T18:30:00
# cysts_g = "1/2 tsp"

[cysts]
grams = 50
# nauplii_per_gram = 200000     # your own count, once you have one

# What else is in the cupboard, so that the plan can say when to buy:
# [supplies]
# salt_g = 1000
# dry_g = 50
# medium_g = 500                # dry, for all kinds; microworm_medium_g for one alone
"""


def new_text(*, name: str, timezone: str, now: datetime) -> str:
    """A room file that is valid as it stands, true as of ``now`` (in the room's zone)."""
    today = now.date()
    return _TEMPLATE.format(
        name=json.dumps(name, ensure_ascii=False),
        timezone=json.dumps(timezone),
        now=now.replace(second=0, microsecond=0, tzinfo=None).isoformat(),
        spawned=(today - timedelta(days=3)).isoformat(),
        started=(today - timedelta(days=9)).isoformat(),
    )


def zone_of(name: str) -> ZoneInfo:
    """The zone of an IANA name.

    Raises:
        UnknownNameError: there is none of this name.
    """
    try:
        return ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        near = get_close_matches(name, available_timezones(), n=3)
        known = near or ["UTC", "and names like Europe/Lisbon"]
        raise UnknownNameError("time zone", name, known) from None


def local_timezone() -> str:
    """This computer's IANA zone, or UTC where it cannot be told."""
    named = os.environ.get("TZ", "").lstrip(":")
    if "/" in named and not named.startswith("/"):
        return named
    try:
        target = Path("/etc/localtime").resolve().as_posix()
    except OSError:
        return "UTC"
    return target.split("/zoneinfo/")[-1] if "/zoneinfo/" in target else "UTC"
