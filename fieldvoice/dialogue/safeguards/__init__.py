"""What speaks up before harm: classes that contradict, rooms outgrown, watches cut short."""
