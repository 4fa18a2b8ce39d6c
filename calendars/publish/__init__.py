"""The ways out of a calendar besides its file: a feed, and a collection on a server.

It may import the rest of :mod:`calendars`. It hands out a read-only feed that makes itself anew,
and writing to a server that touches only what livefood put there.
"""
