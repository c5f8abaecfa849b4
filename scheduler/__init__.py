"""Thinks: pure functions of facts and a date. No SQL, no clock, no input or output."""
