"""Trace: from any code to what it came from, what became of it, and who has it. Queries only."""
