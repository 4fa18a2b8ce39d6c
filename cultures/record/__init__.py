"""The record: what a person was told to do, what became of it, and so what is.

It may import the room, the journal and the state that follows from them; of the planner only
:mod:`cultures.planning.telling`, which puts into the record what a plan shows somebody. It hands out
the room as it stands at a moment, with the fate of each told task.
"""
