"""The commands, one file for each group of them; `bot/cli.py` puts them together."""
