"""Whether a frame stands and carries: tubes, frames in space, loads, checks, anchors."""
