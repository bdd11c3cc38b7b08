"""Answers as tables and sentences for the terminal."""
