"""The decoding graph: lexicon and grammar as transducers; export of the model."""
