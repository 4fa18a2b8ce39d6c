"""What entries make of a room: each step carried out in the order in which it was done.

It may import needs, the room, the journal and everything below; it plans nothing and learns
nothing. It hands out the room of a moment, what cannot be true of an entry, and the
observations from which :mod:`cultures.learning` learns.
"""
