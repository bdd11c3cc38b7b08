"""The pack between two guides: where the cans stand, what touches, and what is left open."""
