"""The channels: each turns what arrived into a Message and sends a Reply. No rules live here."""
