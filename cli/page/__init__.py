"""The page: the round in the hand, told and noted from a phone between the tanks.

It may import cultures, calendars, screens and the journal's events; the packages of the extra
``page`` are imported here and nowhere else. It shows what :mod:`cultures` says and writes entries
that the journal's own commands make; it decides nothing. It hands out the application and the
server that ``livefood serve`` runs.
"""
