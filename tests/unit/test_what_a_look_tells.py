"""What a look puts on record is what stands on its screen: no purchase that nobody was shown."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from cli import telling as telling_module
from cli.screens import remarks as remarks_module
from cli.telling import tell_rounds
from cultures.tasks.plan import Act, Remedy, Shortfall, Stop
from cultures.tasks.task import Buy

_NOW = datetime(2027, 1, 5, 7, tzinfo=UTC)
_FAR = _NOW + timedelta(days=4)


@pytest.mark.parametrize(("said", "told"), [(True, ["buy/cysts"]), (False, [])])
def test_a_purchase_is_told_by_a_food_that_nearly_stops_where_the_screen_says_so(
    monkeypatch: pytest.MonkeyPatch, *, said: bool, told: list[str]
) -> None:
    """Where nauplii fall short too the remark does not stand; a worm culture, which is wanted
    sooner and fills the gap as well, is all that is told then, and not cysts besides.
    """
    buy = Buy(id="buy/cysts", at=_FAR, until=_FAR, subject="cysts", why="", item="cysts",
              grams=75.0)  # fmt: skip
    stop = Stop("brine_shrimp", "Hardly any nauplii", "cysts", since=date(2027, 1, 9))
    remedies = (
        Remedy("start a microworm culture", _NOW, 9.0, act=Act.START, of="microworm"),
        Remedy("buy 75 g of cysts", _FAR, 10.0, act=Act.BUY, of="cysts"),
    )
    short = Shortfall(_FAR, _FAR, 1, "brine_shrimp", 20.0, 10.0, ("A1",), "", remedies)
    plan: Any = SimpleNamespace(
        stops=(stop,), notes=(stop.note,), shortfalls=() if said else (short,)
    )
    found: list[Any] = []
    monkeypatch.setattr(telling_module, "tasks_of", lambda _: [buy])
    monkeypatch.setattr(telling_module, "bare_news", lambda *_: None)
    monkeypatch.setattr(telling_module, "tell", lambda *args, **_: found.append(args[2]))
    monkeypatch.setattr(remarks_module, "pressing", lambda _: [])
    outlook: Any = SimpleNamespace(now=_NOW, round_j=lambda: 20.0)
    tell_rounds(SimpleNamespace(present=None), outlook, [_NOW], plan)  # type: ignore[arg-type]
    assert [task.id for task in found[0]] == told
