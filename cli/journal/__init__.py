"""``livefood journal``: its events, and the open journal through which each is recorded.

It may import :mod:`cultures`, screens and options. It hands out the command alone.
"""
