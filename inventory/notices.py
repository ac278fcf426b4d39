"""What the shelf has to tell."""
