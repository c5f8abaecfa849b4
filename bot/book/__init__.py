"""What is remembered: the ledger and the state, households and members, the post, the reminders."""
