"""The fish room: tanks, broods, cultures, vessels, stocks, and the file that states them.

It may import foods, fry, the types of tasks and journal entries, words, files and errors. It
hands out a room that is checked and complete, with every mistake of its file named by line, and
how hatches are set and held in it.
"""
