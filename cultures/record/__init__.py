"""The record: what a person was told to do, what became of it, and so what is.

It may import the room, the journal and the values of a plan (tasks, feeding lines), not the
planner. It hands out the room as it stands at a moment, with the fate of each told task.
"""
