"""The least size that meets a target, how far it hangs on the model, and misses against size."""
