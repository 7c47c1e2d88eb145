"""LandXML texts for tests, all invented or from published worked problems."""

import cmath
import math

NS = 'xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2"'
FOOT = '<Units><Imperial linearUnit="foot"/></Units>'
METER = '<Units><Metric linearUnit="meter" directionUnit="decimal degrees"/></Units>'


def point(tag, place):
    """A point element: northing, then easting; a place is east + north j."""
    return f"<{tag}>{place.imag:.9f} {place.real:.9f}</{tag}>"


def attributes(**values):
    """Attributes as text, those that are None left out."""
    return "".join(f' {key}="{value}"' for key, value in values.items() if value is not None)


def line(start, end, **more):
    """A Line element."""
    return f"<Line{attributes(**more)}>{point('Start', start)}{point('End', end)}</Line>"


def curve(start, center, end, rot="cw", **more):
    """A Curve element."""
    points = f"{point('Start', start)}{point('Center', center)}{point('End', end)}"
    return f"<Curve{attributes(rot=rot, **more)}>{points}</Curve>"


def spiral(start, corner, end, **more):
    """A Spiral element."""
    told = {"rot": "cw", "spiType": "clothoid"} | more
    corner = "" if corner is None else point("PI", corner)
    return (
        f"<Spiral{attributes(**told)}>{point('Start', start)}{corner}{point('End', end)}</Spiral>"
    )


def alignment(*elements, name="CL", sta_start="0", length=None, extra=""):
    """An Alignment element of what CoordGeom holds, and what follows that."""
    head = attributes(name=name, staStart=sta_start, length=length)
    return f"<Alignment{head}><CoordGeom>{''.join(elements)}</CoordGeom>{extra}</Alignment>"


def landxml(*alignments, units=FOOT, head=NS, extra=""):
    """A whole file as bytes."""
    body = f"{units}{extra}<Alignments>{''.join(alignments)}</Alignments>"
    return f"<LandXML {head}>{body}</LandXML>".encode()


def bearing(degrees):
    """The direction of an azimuth, as east + north j."""
    return 1j * cmath.exp(-1j * math.radians(degrees))


# Worked problem C (route surveying, arc definition): start N1000 E1000, azimuth 45, a tangent of
# 500 ft, R = 1000 ft right through 24 degrees, 300 ft; coordinates as published, to 0.0001 ft.
C_START, C_PC = 1000 + 1000j, 1353.5534 + 1353.5534j
C_CENTER, C_PT = 2060.6602 + 646.4466j, 1702.2922 + 1580.0270j
C_END = 1982.3664 + 1687.5374j


def worked_c(turn=lambda place: place, rot="cw", declared="418.879"):
    """Worked problem C, its points perhaps turned into others."""
    start, pc, center, pt, end = map(turn, (C_START, C_PC, C_CENTER, C_PT, C_END))
    return alignment(
        line(start, pc), curve(pc, center, pt, rot, length=declared), line(pt, end),
        name="worked C", sta_start="1000", length="1218.879",
    )  # fmt: skip
