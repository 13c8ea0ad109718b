"""Equations of motion, helm, manoeuvres, integrator and log of a case (floor 2)."""
