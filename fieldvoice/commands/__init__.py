"""The sub-commands, one file each: arguments in, exit code out."""
