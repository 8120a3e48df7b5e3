"""Estimating."""
