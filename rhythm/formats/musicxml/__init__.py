"""MusicXML 1.0 to 4.0, read and written without loss."""
