"""What is on its way, as screens say it."""

from __future__ import annotations

from collections.abc import Iterable

from cultures.planning.supplies import supply_name
from cultures.room.orders import Order
from cultures.room.room import Room
from cultures.words.moments import day_text
from cultures.words.quantities import grams
from cultures.words.text import listed


def order_words(orders: Iterable[Order], room: Room) -> str:
    """Orders of one stock: how much, and when it is to come."""
    return listed([f"{grams(o.grams, room.units, digits=3)}{_when(o, room)}" for o in orders])


def orders_list(room: Room, *, asked: bool = True) -> list[str]:
    """What is on order, stock by stock.

    Args:
        asked: what is overdue too, of which a task asks.
    """
    orders = [order for order in room.orders if asked or not order.late]
    return [
        f"{supply_name(item)}, {order_words((o for o in orders if o.item == item), room)}"
        for item in dict.fromkeys(order.item for order in orders)
    ]


def _when(order: Order, room: Room) -> str:
    if order.day is None:
        return f" ordered on {day_text(order.on, room.units)}"
    day = day_text(order.day, room.units)
    return f" expected on {day}, not noted as arrived" if order.late else f" to come on {day}"
