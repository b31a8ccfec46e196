"""Schedules: who does what and when, from the first trip for lumber to the day the boards are on the hives."""
