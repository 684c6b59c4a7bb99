"""Unlit."""
