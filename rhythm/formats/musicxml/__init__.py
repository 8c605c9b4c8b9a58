"""MusicXML 1.0 to 4.0, read, written and proven without loss."""
