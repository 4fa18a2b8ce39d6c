"""What is on order of a stock, in words beside what it does not do for yet."""

from __future__ import annotations

from datetime import datetime

from cultures.room.orders import Order
from cultures.room.room import Room
from cultures.words.moments import spoken_day
from cultures.words.quantities import number as number_text
from cultures.words.text import listed


def besides(room: Room, item: str, by: datetime, now: datetime) -> str:
    """After words on a stock of which there is too little by a time: what is on its way, or "".

    What comes by then is in the stock, and is not named.
    """
    said = [
        _words(order, now) for order in room.orders if order.item == item
        and (order.day is None or order.late or order.day >= by.date())
    ]  # fmt: skip
    return f"; {listed(said)}" if said else ""


def _words(order: Order, now: datetime) -> str:
    grams = f"{number_text(order.grams, 4)} g"
    if order.day is None and not order.late:
        return f"{grams} are on order since {spoken_day(order.on, now)}, without a day"
    day = spoken_day(order.last_day, now)
    if order.late:
        return f"{grams} were expected on {day} and are not noted as arrived"
    return f"{grams} are to come on {day}"
