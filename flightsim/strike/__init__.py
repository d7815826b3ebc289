"""Club meets ball: one strike in, one launch out. Knows no players, no shot types and no bay."""
