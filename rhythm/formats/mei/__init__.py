"""MEI, the scholars' encoding of notation, read by its guidelines and handed on as MusicXML.

Common Western notation of MEI 3 to 5 (music-encoding.org/guidelines/v5): what stands in measures,
staves and layers. Mensural notation, neumes and tablature are refused.
"""
