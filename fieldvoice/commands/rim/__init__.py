"""The rim: what stands between every command and the standard streams."""
