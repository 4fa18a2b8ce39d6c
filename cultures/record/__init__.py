"""The record: what a person was told to do, what became of it, and so what is.

It may import files, the journal, needs, replay and learning; of the planner it knows nothing
(:mod:`cultures.planning.telling` puts into the record what a plan shows somebody). It hands out
the room as it stands at a moment, with the fate of each told task.
"""
