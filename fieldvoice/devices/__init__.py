"""Microphone, speaker, screen, clock and disk: thin, one each, and none knows another."""
