"""Sheets typed into a spreadsheet: their cells, the numbers and dates in them, what they mean."""
