"""Figures: findings and histories drawn for print, with captions that carry what they rest on (floor 6)."""

from toolkit.figures.draw import draw_envelope, draw_history

__all__ = ["draw_envelope", "draw_history"]
