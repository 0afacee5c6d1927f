"""How much is said of the work, and steps that are done without being prompted one by one."""
