"""Exercises for a class: random holes of a level, tasks on them, their answers, and marking."""
