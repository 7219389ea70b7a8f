"""Writers: a neutral drawing to the bytes of a file, and the one way in which files are saved.

Nothing here but format knowledge; only these modules import svgwrite and ezdxf.
"""
