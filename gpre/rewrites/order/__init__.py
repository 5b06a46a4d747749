"""Lets holes that are alike trade places."""
