"""What a keeper notes: entries, their file that only grows, and counts by drops.

It may import files, words and errors; it does not know what an entry does to a room. It hands out
entries read and written safely, entries of a spreadsheet, and totals with their error.
"""
