"""Where things go on the screen, and what a picture is made of; nothing here knows a pack."""
