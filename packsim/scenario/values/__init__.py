"""A value of a file or an option: its quantity, its unit, how it is read, worded and written."""
