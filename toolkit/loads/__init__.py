"""Loads on hulls, drives, lines and fenders: plain scalar functions, one module a load (floor 1)."""
