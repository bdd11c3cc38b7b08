"""The window, pictures and films: the only room that knows pygame, PIL and imageio."""
