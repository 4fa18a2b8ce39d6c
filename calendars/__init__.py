"""Turns a plan's tasks into calendars."""
