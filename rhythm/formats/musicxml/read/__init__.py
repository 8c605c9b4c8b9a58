"""From a MusicXML document to a score: notes, marks, the tick cursor, ties and tuplets."""
