"""From a score to a MusicXML document: bars that were kept as they were, the others afresh."""
