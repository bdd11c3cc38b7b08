"""Files: written whole or not at all; CSV and TOML."""
