"""Questions in plain words: how they are read, and how they are answered."""
