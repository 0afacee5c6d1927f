"""What is served: each file a page, or what is done from it."""
