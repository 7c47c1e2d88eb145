"""What is in the demo's road, and what people type there that is out of the ordinary."""

from invented.things import FT_M, Thing

__all__ = ["INSTEAD", "JUNK", "STRANGE", "planned_things", "things_of"]

# leg, along [ft], side, place, kind, visibility, in the city's file, size or height, note.
# R is right of the line looking up-station, C on it or across it.  Visibility 0: never seen.
THINGS = """
A,   200, C, whole , BCUT , 1.0, no ,        , begin cut
A,   330, R, outer , WV   , 0.9, yes,        ,
A,   420, R, inner , SMH  , 0.9, yes, 24 in  ,
A,   560, L, curb  , DI   , 0.8, yes,        ,
A,   575, R, curb  , DI   , 0.8, yes,        ,
A,   760, L, outer , GASV , 0.8, no ,        , no record
A,   905, C, whole , XW   , 0.9, no ,        ,
A,   960, R, beside, SST  , 0.9, no ,        ,
A,  1110, R, inner , SMH  , 0.9, yes, 24 in  ,
A,  1290, R, outer , WV   , 0.8, yes, 8 in   ,
A,  1300, R, outer , WV   , 0.8, yes, 8 in   , ten feet from the one before
A,  1480, L, mid   , DMH  , 0.8, yes,        ,
A,  1650, R, outer , PATCH, 0.8, no ,        ,
A,  1830, R, inner , SMH  , 0.9, yes, 24 in  ,
A,  1990, L, outer , GASV , 0.7, yes,        ,
A,  2200, R, curb  , CB   , 0.8, yes,        ,
A,  2205, L, curb  , CB   , 0.8, yes,        ,
A,  2410, R, inner , SMH  , 0  , yes, 24 in  , under an overlay
A,  2630, L, outer , WV   , 0.8, no ,        , no record
A,  2790, C, whole , WIRE , 0.9, no , 15 ft 6 in posted,
A,  2980, R, inner , SMH  , 0.9, yes, 24 in  ,
A,  3200, L, line  , MON  , 0.7, yes,        ,
A,  3420, R, outer , WV   , 0  , yes,        , under a parked car
A,  3590, L, mid   , DMH  , 0.8, yes, 30 in  ,
A,  3720, R, inner , SMH  , 0.8, yes, 24 in  ,
A,  3960, C, whole , RRX  , 1.0, no ,        ,
A,  4180, R, outer , GASV , 0.8, yes,        ,
A,  4390, R, inner , SMH  , 0.9, yes, 24 in  ,
A,  4540, R, outer , LOOP , 0.8, no ,        ,
A,  4560, C, whole , XW   , 0.9, no ,        ,
A,  4600, L, beside, SST  , 0.9, no ,        ,
A,  4640, L, outer , LOOP , 0.7, no ,        ,
A,  4800, L, outer , WV   , 0.8, yes,        ,
A,  5060, R, inner , SMH  , 0.9, yes, 24 in  ,
A,  5330, L, curb  , DI   , 0.8, yes,        ,
A,  5345, R, curb  , DI   , 0.8, yes,        ,
A,  5640, R, mid   , PLATE, 1.0, no ,        ,
A,  5900, R, inner , SMH  , 0.9, yes, 24 in  ,
A,  6120, L, outer , GASV , 0  , yes,        , under a parked car
A,  6400, R, outer , SPOT , 0.8, no ,        ,
A,  6710, L, mid   , DMH  , 0.8, no ,        , no record
A,  7050, R, inner , SMH  , 0.9, yes, 24 in  ,
A,  7380, R, outer , WV   , 0.8, yes,        ,
A,  7800, L, line  , MON  , 0.6, yes,        ,
A,  8240, C, whole , BJ   , 1.0, no ,        ,
A,  8390, C, whole , BJ   , 1.0, no ,        ,
A,  8800, L, inner , SMH  , 0  , yes, 24 in  , under an overlay
A,  9180, R, outer , LOOP , 0.8, no ,        ,
A,  9210, C, whole , XW   , 0.9, no ,        ,
A,  9250, R, beside, SST  , 0.9, no ,        ,
A,  9600, L, outer , WV   , 0.8, yes,        ,
A, 10050, R, mid   , DMH  , 0.8, yes,        ,
A, 10480, L, outer , PATCH, 0.7, no ,        ,
A, 10900, R, outer , GASV , 0.8, yes,        ,
A, 11500, L, inner , SMH  , 0.9, yes, 24 in  ,
A, 12100, R, outer , WV   , 0.8, no ,        , no record
A, 12600, L, curb  , CB   , 0.8, yes,        ,
A, 12790, C, whole , TIEIN, 0.9, no ,        ,
A, 12800, C, whole , ECUT , 1.0, no ,        , end cut
B,    90, R, outer , WV   , 1.0, yes,        ,
B,   180, L, inner , SMH  , 1.0, yes, 24 in  ,
B,   330, R, curb  , DI   , 0.9, yes,        ,
B,   455, L, outer , GASV , 0.9, yes,        ,
B,   560, R, outer , WV   , 0  , yes,        , under a parked car
B,   640, L, inner , SMH  , 1.0, yes, 24 in  ,
B,   790, R, outer , PATCH, 0.9, no ,        ,
B,   940, L, curb  , CB   , 0.9, yes,        ,
B,  1060, L, inner , SMH  , 0.9, no , 24 in  , no record
"""

# Waypoints that say nothing of the road, or must not be read as if they did: number of the drive,
# distance gone [m], words.  One more is strange words for a real thing: eight in all.
JUNK = (
    (0, 900.0, "lunch"), (0, 2750.0, "call dispatch"), (1, 700.0, "no manhole here"),
    (1, 3100.0, "asdf"), (2, 1800.0, "testing testing"), (3, 2300.0, "?"),
    (4, 60.0, "gate code 4471"),
)  # fmt: skip
STRANGE = "was that a valve or what"
HOSTILE = "=1+1 {{ cycler }} {% low ${x} <script>alert(1)</script> #sys.version"

# Words typed for one thing whatever the person's manner is: number of the drive, leg, along [ft],
# words, the code they stand for.  Three less exact kinds, one wrong, one strange, one hostile.
INSTEAD = (
    (2, "A", 1110, "MH LT wheel path, 24 in", "MH"),
    (1, "A", 5060, "manhole other side", "MH"),
    (1, "A", 10900, "GV other side", "VLV"),
    (2, "A", 4800, "gas valve other side", "GASV"),
    (1, "A", 7380, STRANGE, ""),
    (3, "A", 5900, f"sewer manhole, {HOSTILE}", "SMH"),
)


def planned_things() -> tuple[Thing, ...]:
    """The things of the table, along counted as the roads are laid."""
    return things_of(THINGS)


def things_of(table: str) -> tuple[Thing, ...]:
    """The things of a table in the form of this one's, along counted as the roads are laid."""
    rows = [[cell.strip() for cell in line.split(",")] for line in table.strip().splitlines()]
    return tuple(
        Thing(
            kind=kind, leg=leg, along_m=float(along_ft) * FT_M, side=side, place=place,
            visibility=float(visibility), in_file=in_file == "yes", size=size, note=note,
        )
        for leg, along_ft, side, place, kind, visibility, in_file, size, note in rows
    )  # fmt: skip
