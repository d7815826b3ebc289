"""What people read: `words`, `draw` (pictures), and `pages` that hold both."""
