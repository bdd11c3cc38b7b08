"""Drawings in real millimetres: plan, elevation, header."""
