"""Cans per minute, dwell, and the heat a mat takes."""
