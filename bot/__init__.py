"""Talks and remembers: reads what keepers type, keeps the book, sends what is due."""
