"""Figures: findings and histories drawn for print, with captions that carry what they rest on (floor 6)."""

from toolkit.figures.animation import animate_history, can_write_mp4
from toolkit.figures.comparison_pages import draw_comparison
from toolkit.figures.draw import draw_envelope, draw_history
from toolkit.figures.player import write_player
from toolkit.figures.sensitivity_pages import draw_sensitivity

__all__ = [
    "animate_history",
    "can_write_mp4",
    "draw_comparison",
    "draw_envelope",
    "draw_history",
    "draw_sensitivity",
    "write_player",
]
