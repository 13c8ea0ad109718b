"""Running studies: tasks, store, resume, results, exports, provenance (floor 4)."""
