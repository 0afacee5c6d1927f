"""What makes a page one file that is safe to open: its policy, and its pictures."""
