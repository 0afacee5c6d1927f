"""The base of every error of ours."""


class FieldvoiceError(Exception):
    """Something cannot be done; the message says what, where and what to do.

    The command line prints it as it is. Any other error is a fault of the program.
    """
