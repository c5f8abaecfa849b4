"""Text to Reading: what a keeper's message means, given a small view of the book."""
