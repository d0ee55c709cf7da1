"""The questions people ask, each answered by one call of the kernel."""
