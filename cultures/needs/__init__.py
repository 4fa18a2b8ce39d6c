"""What each brood of a room needs, round by round, and the dates of its life.

It may import the room and everything below it. It hands out rounds, needs with the foods that
meet them, what short meals make of a brood, the dates to sort, lid and move on, and energy in units
that are counted or weighed.
"""
