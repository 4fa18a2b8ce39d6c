"""The files of a room kept whole: one file that holds them all, and what mends a damaged one.

It may import the journal, the record, files and errors. It hands out backups that are
checked when they are made and when they are restored, and repairs that are told before they are
done.
"""
