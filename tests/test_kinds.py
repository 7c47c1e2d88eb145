"""The table of kinds: what it proposes, what its words give, and how a bad table is refused."""

import itertools
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import routeprep
from routeprep.errors import JobError
from routeprep.kinds import ACROSS, ACTIONS, GROUPS, Kind, KindTable, parse_kinds
from routeprep.units import to_m

TEXT = (Path(routeprep.__file__).parent / "kinds.toml").read_text(encoding="utf-8")
TABLE = parse_kinds(TEXT)
KINDS = list(TABLE.kinds.values())
SAID = [(text, kind.code) for kind in KINDS for text in (kind.code, kind.name, *kind.words)]
SIZES = ["24 in", '24"', "8-inch", "600 mm", "2x3 ft"]

codes = st.sampled_from(list(TABLE.kinds))
said = st.sampled_from(SAID)

# What people type, the kind, and what else they say by it: across | size | note.  All invented.
UNDERSTOOD = {
    "water valve outer wheel path": ("WV", "outer wheel path", "", ""),
    "MH RT wheel path, 24 in": ("MH", "right wheel path", "24 in", ""),
    "gas valve iwp": ("GASV", "inner wheel path", "", ""),
    "SMH other side": ("SMH", "other side", "", ""),
    "GV": ("VLV", "", "", ""),
    "gv at curb": ("VLV", "curb or edge", "", ""),
    "gate valve on the line": ("VLV", "on the line", "", ""),
    "valve box OWP": ("VLV", "outer wheel path", "", ""),
    "WV": ("WV", "", "", ""),
    "wv - between the wheels": ("WV", "between wheel paths", "", ""),
    "san mh, centerline": ("SMH", "on the line", "", ""),
    "sewer manhole 24 in": ("SMH", "", "24 in", ""),
    "Sanitary Manhole": ("SMH", "", "", ""),
    "Manhole - Sanitary": ("SMH", "", "", ""),
    "drain mh IWP": ("DMH", "inner wheel path", "", ""),
    "storm manhole, other side, 30 in": ("DMH", "other side", "30 in", ""),
    "the manhole at the curb": ("MH", "curb or edge", "", ""),
    "manhole at curb": ("MH", "curb or edge", "", ""),
    "M.H. in the outer wheel path": ("MH", "outer wheel path", "", ""),
    "man hole, left wheel path": ("MH", "left wheel path", "", ""),
    "manhole 1 in low, OWP": ("MH", "outer wheel path", "", "1 in low"),
    "MH lowered 3 in, 24 in": ("MH", "", "24 in", "lowered 3 in"),
    'WV RT wheel path, lowered 2"': ("WV", "right wheel path", "", 'lowered 2"'),
    "MH in the wheel path": ("MH", "", "", "wheel path"),
    "old manhole, lid rattles": ("MH", "", "", "old, lid rattles"),
    "manhole (sits in a dip) ": ("MH", "", "", "(sits in a dip)"),
    "manhole, call city: 555-0134, ask": ("MH", "", "", "call city: 555-0134, ask"),
    "manhole other side OWP": ("MH", "other side", "", "OWP"),
    "manhole at right curb": ("MH", "right side", "", "curb"),
    "elec manhole left side": ("EMH", "left side", "", ""),
    "telephone manhole; edge": ("TMH", "curb or edge", "", ""),
    "CB curb or edge": ("CB", "curb or edge", "", ""),
    "catch basin, gutter line, 24x36 in": ("CB", "curb or edge", "24x36 in", ""),
    "DI other side": ("DI", "other side", "", ""),
    "inlet at edge": ("INLET", "curb or edge", "", ""),
    "2' x 3' vault": ("VLT", "", "2x3 ft", ""),
    "clean-out near curb": ("CO", "curb or edge", "", ""),
    "buried manhole OWP": ("IUP", "outer wheel path", "", ""),
    "rpm on the centerline": ("RM", "on the line", "", ""),
    "survey monument, on the line": ("MON", "on the line", "", ""),
    "RR crossing": ("RRX", "", "", ""),
    "bridge joint full width": ("BJ", "whole road", "", ""),
    "steel plate between wheel paths": ("PLATE", "between wheel paths", "", ""),
    "loop RT wheel path": ("LOOP", "right wheel path", "", ""),
    "signal loops": ("LOOP", "", "", ""),
    "Patch, owp, 20 ft long": ("PATCH", "outer wheel path", "20 ft", "long"),
    "curb and gutter": ("CG", "", "", ""),
    "curb & gutter right side": ("CG", "right side", "", ""),
    "low shoulder": ("DROPOFF", "", "", ""),
    "UTILITY-POLE": ("POLE", "", "", ""),
    "Fire Hydrant": ("HYD", "", "", ""),
    "begin cut": ("BCUT", "", "", ""),
    "parked cars": ("PKG", "", "", ""),
    "parked cars begin": ("PKB", "", "", ""),
    "parked cars end, right side": ("PKE", "right side", "", ""),
    "tie-in": ("TIEIN", "", "", ""),
    "crosswalk": ("XW", "", "", ""),
    "side street right side": ("SST", "right side", "", ""),
    "left side street": ("SST", "left side", "", ""),
    "no trucks": ("NOGO", "", "", ""),
    "school zone": ("SCH", "", "", ""),
    "Station Paint": ("STA", "", "", ""),
    "painted station at the curb": ("STA", "curb or edge", "", ""),
    "station stake right side": ("STA", "right side", "", ""),
    "mile marker, 14": ("MM", "", "", "14"),
    "milepost": ("MM", "", "", ""),
    "sketchy RT wheel path": ("SPOT", "right wheel path", "", ""),
    "sketchy spot": ("SPOT", "", "", ""),
}

# What people type, height over the road [m] and how it is known.
HEIGHTS = {
    "wire 14 ft 6 in posted": ("WIRE", 4.4196, "posted"),
    "low wire, 15.5 ft": ("WIRE", 4.7244, "guess"),
    "bridge 13'6\" posted": ("BRG", 4.1148, "posted"),
    "overpass, measured 14' - 2\"": ("OBR", 4.318, "measured"),
    "limb 4.3 m": ("LIMB", 4.3, "guess"),
    "limb 4,3 m measured": ("LIMB", 4.3, "measured"),
    "wire about 15 ft measured": ("WIRE", 4.572, "guess"),
    "span wire 16 ft clearance, other side": ("SPAN", 4.8768, "guess"),
}

# What must not be understood, what the reason quotes, and what it looks like.
NOT_UNDERSTOOD = {
    "": ("nothing was said", ""),
    " ... ": ("nothing was said", ""),
    "?": ('no kind of thing is named in "?"', ""),
    "asdf": ('"asdf"', ""),
    "call dispatch": ('"call dispatch"', ""),
    "curb": ('no kind of thing is named in "curb"', ""),
    "owp 24 in": ("no kind", ""),
    "joint": ('"joint"', ""),
    "no manhole here": ('"no"', "MH"),
    "manhole gone": ('"gone"', "MH"),
    "water valve, removed": ('"removed"', "WV"),
    "manhole, isn't there": ('"isn\'t"', "MH"),
    "MH w/o lid": ('"w/o"', "MH"),
    "was that a valve or what": ('"or"', "VLV"),
    "manhole?": ('"?"', "MH"),
    "maybe a gas valve": ('"maybe"', "GASV"),
    "wv, check": ('"check"', "WV"),
    "water valve and manhole": ('"water valve" and "manhole"', ""),
    "MH/WV": ('"MH" and "WV"', ""),
    "manhole, patch round it": ('"manhole" and "patch"', ""),
    "manhole manhole": ('"manhole" and "manhole"', "MH"),
    "MH 12": ('"12"', "MH"),
    "MH #4": ('"#4"', "MH"),
    "two manhole": ('"two"', "MH"),
    "abandoned manhole": ('"abandoned"', "MH"),
    "manhole over there": ('"over there"', "MH"),
    "Elm St: manhole": ('"Elm St"', "MH"),
    "manhole ❌": ('"❌"', "MH"),
    "m\u0336a\u0336n\u0336h\u0336o\u0336l\u0336e\u0336": ("no kind", ""),
    "MH 24 in the lane": ('"24"', "MH"),
    "manhole 14 ft 6 in": ('"14 ft 6 in"', "MH"),
    "manhole posted": ('"posted"', "MH"),
    "wire 14 ft 60 in": ('"14 ft 60 in"', "WIRE"),
    "manhole owp iwp": ('where across is said twice, "owp" and "iwp"', "MH"),
    "manhole 24 in, 36 in": ('the size is said twice, "24 in" and "36 in"', "MH"),
    "wire 14 ft, 15 ft": ('the height is said twice, "14 ft" and "15 ft"', "WIRE"),
    "wire posted, 14 ft over the lane": ('"posted" tells how', "WIRE"),
}

HOSTILE = "=1+1 {{ cycler }} {% low ${x} <script>alert(1)</script> #sys.version"


@pytest.mark.parametrize(("text", "expected"), UNDERSTOOD.items())
def test_what_people_type_is_understood(text: str, expected: tuple[str, ...]) -> None:
    """Kind, where across, size and note are what was said."""
    saying = TABLE.understand(text)

    assert expected == (saying.kind, saying.across, saying.size, saying.note)
    assert (saying.why, saying.looks_like) == ("", "")


@pytest.mark.parametrize(("text", "expected"), HEIGHTS.items())
def test_heights_are_understood(text: str, expected: tuple[str, float, str]) -> None:
    """A height comes in metres, a guess unless it was posted or measured."""
    saying = TABLE.understand(text)
    kind, height_m, height_by = expected

    assert (kind, height_by) == (saying.kind, saying.height_by)
    assert height_m == pytest.approx(saying.height_m, abs=1e-9)


@pytest.mark.parametrize(("text", "expected"), NOT_UNDERSTOOD.items())
def test_what_is_not_clear_is_not_understood(text: str, expected: tuple[str, str]) -> None:
    """No kind is taken; the reason quotes the words, and a single kind seen is named."""
    saying = TABLE.understand(text)

    assert saying.kind == ""
    assert expected[0] in saying.why
    assert expected[1] == saying.looks_like


def test_a_hostile_note_is_kept_as_typed() -> None:
    """Nothing in a note is read, changed or lost."""
    saying = TABLE.understand(f"manhole, {HOSTILE}")

    assert (saying.kind, saying.note) == ("MH", HOSTILE)
    assert (saying.across, saying.size) == ("", "")


@pytest.mark.parametrize(("text", "code"), SAID)
def test_every_word_gives_its_kind(text: str, code: str) -> None:
    """A kind's code, name and words are understood, and found, as that kind."""
    found = TABLE.find(text)

    assert code == TABLE.understand(text).kind
    assert found is not None
    assert code == found.code


@given(said, st.sampled_from([str.upper, str.lower, str.title, str.swapcase]))
def test_case_does_not_matter(one: tuple[str, str], recase) -> None:
    """However it is written, a word gives its kind."""
    text, code = one

    assert code == TABLE.understand(recase(text)).kind


@given(said, st.sampled_from(ACROSS), st.sampled_from(SIZES), st.permutations([0, 1, 2]))
def test_saying_where_and_how_big_keeps_the_kind(
    one: tuple[str, str], across: str, size: str, order: list[int]
) -> None:
    """Across and size beside an understood kind, in any order, are taken and change no kind."""
    text, code = one
    saying = TABLE.understand(", ".join([text, across, size][place] for place in order))

    assert (code, across) == (saying.kind, saying.across)
    assert saying.size.startswith(size[0])


@given(said, st.sampled_from(ACROSS))
def test_where_needs_no_comma(one: tuple[str, str], across: str) -> None:
    """Across said right after the kind keeps the kind."""
    text, code = one

    assert code == TABLE.understand(f"{text} {across}").kind


@given(said, st.text(st.characters(exclude_characters=",;:-()[]{}\n\r\v\f\x85\u2028\u2029")))
def test_a_note_never_changes_the_kind(one: tuple[str, str], note: str) -> None:
    """What follows the kind leaves it as it is, or makes the words not understood."""
    text, code = one

    assert TABLE.understand(f"{text}, {note}").kind in {code, ""}


@given(st.text(max_size=300) | st.lists(st.sampled_from([
    "manhole", "wire", "24 in", "14'6\"", "owp", "left", "?", "no", ",", "(", ")", " - ", "1", "x",
    "posted", "low", "\u202e", "\x00", "😀", "é", "٣", "ﬁ", "½", "㎜", "\ud800", "\u0336",
])).map(" ".join))  # fmt: skip
def test_any_text_is_read_without_failing(text: str) -> None:
    """No text raises: it has a kind and no reason, or a reason and no kind."""
    saying = TABLE.understand(text)

    assert bool(saying.kind) != bool(saying.why)
    assert saying.across in {"", *ACROSS}
    assert math.isnan(saying.height_m) == (saying.height_by == "")


@given(st.text(max_size=300))
def test_a_note_stands_in_the_text(note: str) -> None:
    """A note is made of pieces of the text as typed, whatever it holds."""
    saying = TABLE.understand(f"manhole, zq {note}")

    assert all(piece in f"manhole, zq {note}" for piece in saying.note.split(", "))


@pytest.mark.parametrize("piece", ["manhole ", "1 ", "1 x ", "( ", "- ", "no ", "a.", "14' ", "é"])
def test_a_long_text_takes_no_longer_than_its_length_asks(piece: str) -> None:
    """Ten thousand characters of anything are read, and the reason stays short."""
    saying = TABLE.understand((piece * 10_000)[:10_000])

    assert saying.kind == ""
    assert len(saying.why) < 200


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("Hydrant", "HYD"),
        ("SANITARY MANHOLE", "SMH"),
        ("Manhole - Sanitary", "SMH"),
        ("Manhole (Storm)", "DMH"),
        ("Catch Basin", "CB"),
        ("Valve, Water", "WV"),
        ("Gate Valve", "VLV"),
        ("UTILITY-POLE", "POLE"),
        ("traffic_signal", "SIG"),
    ],
)
def test_values_of_owners_files_are_found(text: str, code: str) -> None:
    """What files hold as a type is the whole text of a word."""
    found = TABLE.find(text)

    assert found is not None
    assert code == found.code


@pytest.mark.parametrize("text", ["", "manhole at curb", "UNKNOWN", "manhole?", "manholes", ","])
def test_what_is_no_whole_word_is_not_found(text: str) -> None:
    """A kind is found by the whole text only."""
    assert TABLE.find(text) is None


def test_gv_asks_the_owners() -> None:
    """GV alone is gate or gas: stop and ask."""
    kind = TABLE.kinds[TABLE.understand("GV").kind]

    assert kind.name == "unknown valve"
    assert kind.proposals[0].action == "STOP"
    assert "ask" in kind.proposals[0].who
    assert kind.may_be == ("WV", "GASV")


def test_gas_and_water_print_in_full() -> None:
    """No valve is printed by an abbreviation."""
    assert (TABLE.kinds["GASV"].name, TABLE.kinds["WV"].name) == ("GAS VALVE", "WATER VALVE")


@pytest.mark.parametrize("code", ["PLATE", "MON", "RRX", "BJ", "DECK", "GASV", "UC", "IUP"])
def test_what_must_stop_stops_at_every_depth(code: str) -> None:
    """These are a STOP with whom to call, however thin the cut."""
    proposals = TABLE.kinds[code].proposals

    assert [one.action for one in proposals] == ["STOP"]
    assert proposals[0].who


def test_a_sketchy_spot_is_looked_at() -> None:
    """Only a person makes a STOP of it."""
    assert TABLE.propose("SPOT", depth_m=0.3).action == "LOOK"


@pytest.mark.parametrize(
    ("depth_m", "action"),
    [
        (0.0, "SLOW"),
        (to_m(1.0, "in"), "SLOW"),
        (to_m(25.4, "mm"), "SLOW"),
        (to_m(1.25, "in"), "STOP"),
        (math.inf, "STOP"),
        (math.nan, "STOP"),
    ],
)
def test_the_proposal_goes_by_depth(depth_m: float, action: str) -> None:
    """Up to and with its depth a proposal holds; not knowing the depth gives the deepest."""
    assert action == TABLE.propose("LOOP", depth_m=depth_m).action


def test_no_proposal_for_a_code_that_is_not_there() -> None:
    """An unknown code is refused with the nearest one."""
    with pytest.raises(JobError, match=r"kind 'SMHH' is not in the table.*'SMH'"):
        TABLE.propose("SMHH", depth_m=0.05)


@given(codes, codes)
def test_same_thing_is_symmetric_and_reflexive(one: str, other: str) -> None:
    """Who is named first does not matter, and a kind is always the same as itself."""
    assert TABLE.same_thing(one, other) == TABLE.same_thing(other, one)
    assert TABLE.same_thing(one, one)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("MH", "SMH", True),
        ("VLV", "GASV", True),
        ("UC", "WV", True),
        ("SMH", "DMH", False),
        ("WV", "GASV", False),
        ("MH", "WV", False),
        ("not there", "MH", False),
    ],
)
def test_a_generic_kind_may_be_an_exact_one(one: str, other: str, *, same: bool) -> None:
    """A manhole may be a sewer manhole; a sewer manhole is no storm manhole."""
    assert same == TABLE.same_thing(one, other)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.code)
def test_every_kind_is_whole(kind: Kind) -> None:
    """Each kind of the table keeps what the contract says of it."""
    assert kind.group in GROUPS
    assert all(one.action in ACTIONS for one in kind.proposals)
    assert all(one.who for one in kind.proposals if one.action == "STOP")
    assert kind.proposals[-1].to_depth_m == math.inf
    assert all(word == word.lower() for word in kind.words)
    assert kind.clear_behind_m >= kind.clear_ahead_m
    assert kind.group != "overhead" or "height" in kind.asks


def test_every_group_has_kinds() -> None:
    """The table fills every group, in the order of the legend."""
    assert list(GROUPS) == list(dict.fromkeys(kind.group for kind in KINDS))


def test_every_number_of_the_table_has_its_source() -> None:
    """A clearance or a depth has a comment on its line or the line before."""
    lines = TEXT.splitlines()
    bare = [
        line
        for before, line in itertools.pairwise(lines)
        if line.strip().startswith(("clear_", "{ up_to_"))
        and "# " not in line
        and not before.strip().startswith("#")
    ]

    assert bare == []


ONE = """
[[kind]]
code = "MH"
name = "manhole"
words = ["man hole"]
group = "iron in the road"
owner = "sewer"
colour = "green"
clear_ahead_ft = 3.0
clear_behind_m = 1.5
action = "LIFT"
who = "hand-work crew"
asks = ["whose it is"]
may_be = []
"""
DEEP = 'proposals = [{ up_to_mm = 40, action = "SLOW" }, { action = "STOP", who = "owner" }]'


def table_of(text: str) -> KindTable:
    """The table of a small text."""
    return parse_kinds(text)


def test_a_kind_is_read_whole() -> None:
    """Every key arrives, lengths in metres."""
    kind = table_of(ONE).kinds["MH"]

    assert (kind.name, kind.words, kind.owner, kind.colour) == (
        "manhole", ("man hole",), "sewer", "green"
    )  # fmt: skip
    assert (kind.clear_ahead_m, kind.clear_behind_m) == pytest.approx((0.9144, 1.5))
    assert (kind.asks, kind.may_be) == (("whose it is",), ())
    assert [(one.to_depth_m, one.action, one.who) for one in kind.proposals] == [
        (math.inf, "LIFT", "hand-work crew")
    ]


def test_proposals_by_depth_are_read() -> None:
    """Depths in inches or millimetres come in metres, the last for any depth."""
    text = ONE.replace('action = "LIFT"\nwho = "hand-work crew"', DEEP)
    proposals = table_of(text).kinds["MH"].proposals

    assert [(one.to_depth_m, one.action) for one in proposals] == [
        (0.04, "SLOW"),
        (math.inf, "STOP"),
    ]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("colour", "color", r"kind 1 \('MH'\): key 'color' is not known; .* 'colour'"),
        ('"LIFT"', '"JUMP"', r"action is 'JUMP'; expected one of STOP, LIFT"),
        ('"iron in the road"', '"iron"', r"group is 'iron'; expected one of iron in the road"),
        ('"green"', '"teal"', r"colour is 'teal'; expected one of red"),
        ('code = "MH"', 'code = " "', r"code is ' '; expected a text"),
        ('name = "manhole"', "name = 7", r"name is 7; expected a text"),
        ('["man hole"]', '"man hole"', r"words is 'man hole'; expected a list of texts"),
        ("clear_ahead_ft = 3.0", "", r"0 of clear_ahead_ft and clear_ahead_m given"),
        ("clear_ahead_ft = 3.0", "clear_ahead_ft = -1", r"clear_ahead_ft is -1; expected a finite"),
        ("clear_ahead_ft = 3.0", "clear_ahead_ft = nan", r"clear_ahead_ft is nan"),
        ("clear_ahead_ft = 3.0", "clear_ahead_ft = true", r"clear_ahead_ft is True"),
        ("clear_ahead_ft = 3.0", "clear_ahead_ft = 3\nclear_ahead_m = 1", r"2 of clear_ahead_ft"),
        ("may_be = []", 'may_be = ["SMH"]', r"'MH' may be 'SMH', no code .*nearest 'MH'"),
        ('"man hole"', '"curb"', r"'curb' of kind 'MH' already serves as across"),
        ('"man hole"', '"24 in"', r"'24 in' of kind 'MH' cannot be read"),
        ('"man hole"', '"#mh"', r"'#mh' of kind 'MH' cannot be read"),
        ('"man hole"', '"..."', r"'...' of kind 'MH' cannot be read"),
        ('action = "LIFT"', f'action = "LIFT"\n{DEEP}', r"proposals stand beside action or who"),
        ('action = "LIFT"', "", r"action is ''; expected a text"),
        ("[[kind]]", "spare = 1\n[[kind]]", r"key 'spare' is not known; the nearest one is 'kind'"),
        ("[[kind]]", "[kind]", r"kind is \{.*\}; expected a list of tables"),
        ("[[kind]]", "[[kind", r"the table of kinds is no TOML: .*line 2"),
    ],
)  # fmt: skip
def test_a_bad_table_is_refused(old: str, new: str, message: str) -> None:
    """What is wrong is named with its value, its place and what was expected."""
    assert old in ONE

    with pytest.raises(JobError, match=message):
        parse_kinds(ONE.replace(old, new))


@pytest.mark.parametrize(
    ("proposals", "message"),
    [
        ('[{ action = "SLOW" }, { action = "STOP" }]', r"0 of up_to_in and up_to_mm given"),
        ('[{ up_to_in = 2, action = "STOP" }]', r"the last proposal has a depth"),
        ('[{ action = "STOP", whom = "me" }]', r"key 'whom' is not known; .* 'who'"),
        (
            '[{ up_to_in = 2, action = "LOOK" }, { up_to_in = 1, action = "SKIP" }, {}]',
            r"expected the shallowest first",
        ),
        ("[3]", r"proposals is \[3\]; expected a list of tables"),
    ],
)  # fmt: skip
def test_bad_proposals_are_refused(proposals: str, message: str) -> None:
    """Depths rise, and the last proposal is for any depth."""
    text = ONE.replace('action = "LIFT"\nwho = "hand-work crew"', f"proposals = {proposals}")

    with pytest.raises(JobError, match=message):
        parse_kinds(text)


def test_everything_wrong_is_named_at_once() -> None:
    """One error names all faults, so that the table is mended once."""
    text = ONE.replace('"LIFT"', '"JUMP"') + ONE.replace('"green"', '"teal"')

    with pytest.raises(JobError, match=r"3 things.*JUMP.*teal.*'MH' stands twice") as caught:
        parse_kinds(text)

    assert len(caught.value.facts["faults"]) == 3


def test_a_word_of_two_kinds_is_refused() -> None:
    """A word belongs to one kind, whatever its case and punctuation."""
    other = (
        ONE.replace('"MH"', '"XX"').replace('"manhole"', '"other"').replace("man hole", "Man-Hole")
    )

    with pytest.raises(JobError, match=r"'Man-Hole' is claimed by two kinds, 'MH' and 'XX'"):
        parse_kinds(ONE + other)


EXTRA = {
    "code": "PIT",
    "name": "scale pit",
    "words": ["truck scale"],
    "group": "site",
    "clear_ahead_m": 0,
    "clear_behind_m": 0,
    "action": "GO AROUND",
}


def test_a_job_adds_a_kind() -> None:
    """The job's own kind is understood beside those of the table."""
    table = parse_kinds(TEXT, extra=[EXTRA])

    assert table.understand("truck scale, left side").kind == "PIT"
    assert len(table.kinds) == len(TABLE.kinds) + 1


def test_a_job_replaces_a_kind_whole() -> None:
    """A kind of a known code takes the place of the table's, and frees its words."""
    table = parse_kinds(TEXT, extra=[EXTRA | {"code": "DUMP"}])

    assert table.propose("DUMP", depth_m=math.nan).action == "GO AROUND"
    assert table.find("stockpile") is None
    assert list(table.kinds) == list(TABLE.kinds)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"wrds": []}, r"the job's kinds, kind 1 \('PIT'\): key 'wrds' .*'words'"),
        ({"words": ["manhole"]}, r"'manhole' is claimed by two kinds, 'MH' and 'PIT'"),
        ({"words": ["maybe"]}, r"'maybe' of kind 'PIT' already serves as doubt"),
    ],
)
def test_a_bad_kind_of_the_job_is_refused(change: dict[str, object], message: str) -> None:
    """The job's kinds keep the rules of the table."""
    with pytest.raises(JobError, match=message):
        parse_kinds(TEXT, extra=[EXTRA | change])


def test_two_job_kinds_of_one_code_are_refused() -> None:
    """Among the job's own kinds a code stands once."""
    with pytest.raises(JobError, match=r"the job's kinds: code 'PIT' stands twice"):
        parse_kinds(TEXT, extra=[EXTRA, EXTRA])
