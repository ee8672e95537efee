"""One file a format that ``hornsweep export`` writes; each is loaded when it is asked for."""
