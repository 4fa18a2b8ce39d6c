"""What is asked of people: tasks, feeding lines, shortfalls and the plan that holds them.

Plain values without any planning, so that every other room may speak of tasks. It imports
nothing of the project; it hands out the task types, what was told of them, and their JSON.
"""
