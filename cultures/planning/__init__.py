"""From needs to dated tasks: what to set, split, harvest and feed, and what will fall short.

It may import every other room of :mod:`cultures`; none of them imports it. It hands out the
outlook of a room, its plan, shortfalls with what still helps, risk, suppositions, and the
telling of tasks; one module for each paragraph of docs/planning.md.
"""
