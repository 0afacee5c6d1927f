"""A job at work on the screen: what it shows of the open step, the vacuum and the talk."""
