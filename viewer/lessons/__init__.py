"""Lesson files: their scenes, what a scene changes on the line, and the numbers in its captions."""
