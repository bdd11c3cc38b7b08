"""Answers made readable: terminal tables, sheets, pages and drawings."""
