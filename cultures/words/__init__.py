"""How quantities, times and tasks are read and said, alike on a screen, a sheet and a calendar.

It may import the task types and the errors. It hands out quantities as keepers write them,
moments as they type them, and phrases for tasks with every figure kept apart from the words.
"""
