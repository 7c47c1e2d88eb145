// What a person on foot says of a thing: size, proud or low, painted, ties, a wheel's station; and
// whether what the office asks to look for was found.
"use strict";

const WALK = (() => {
  const { button, make } = KINDS;

  function field(label, type, { most = 60, mode = "text" } = {}) {
    const box = make("label", "", label);
    const input = make("input");
    Object.assign(input, { type, maxLength: most, autocomplete: "off", inputMode: mode });
    box.append(input);
    return [box, input];
  }

  function check(label) {
    const box = make("label", "check");
    const input = make("input");
    input.type = "checkbox";
    box.append(input, make("span", "", label));
    return [box, input];
  }

  function select(label, values) {
    const box = make("label", "", label);
    const input = make("select");
    input.append(...values.map(([value, text]) => {
      const option = make("option", "", text);
      option.value = value;
      return option;
    }));
    box.append(input);
    return [box, input];
  }

  // The note of a walked mark: what the form says, then what was noted before in other words.
  function noteOf({ sits, inches, painted, ties, free }) {
    const height = sits && inches ? `${sits} ${inches} in` : sits;
    const said = ties.filter(Boolean).map((tie) => `tie: ${tie}`);
    const first = [height, painted ? "painted" : ""].filter(Boolean).join(", ");
    return [first, ...said, free].filter(Boolean).join("; ");
  }

  function form(legs, onDetails) {
    const [sizeBox, size] = field("Size, as 8 in or 24 in", "text");
    const [sitsBox, sits] = select("Against the road it sits", [
      ["", "not said"], ["proud", "proud"], ["low", "low"], ["flush", "flush"],
    ]);
    const [inchBox, inches] = field("by so many inches", "text", { most: 8, mode: "decimal" });
    const [paintBox, painted] = check("Painted");
    const [oneBox, one] = field("First tie, to what survives the milling: 12.4 ft to pole 31", "text", { most: 120 });
    const [twoBox, two] = field("Second tie", "text", { most: 120 });
    const [legBox, leg] = select("Leg", [["", "not said"], ...legs.map((each) => (
      [each.code, `${each.code} ${each.name}`]
    ))]);
    const [stationBox, station] = field("Station, from a wheel", "text", { mode: "text" });
    const [offsetBox, offset] = field("Offset, as 6 ft RT", "text");
    const element = make("form");
    const save = make("button", "wide", "Keep it with the last mark");
    save.type = "submit";
    const inputs = [size, inches, one, two, station, offset];
    element.append(
      make("h2", "", "On foot: more about the last mark"),
      sizeBox, sitsBox, inchBox, paintBox, oneBox, twoBox, legBox, stationBox, offsetBox, save,
    );
    element.addEventListener("submit", (event) => {
      event.preventDefault();
      const said = {
        size: size.value.trim(), sits: sits.value, inches: inches.value.trim(),
        painted: painted.checked, ties: [one.value.trim(), two.value.trim()],
        leg: leg.value, station: station.value.trim(), offset: offset.value.trim(),
      };
      onDetails(said).then((kept) => {
        if (kept) {
          inputs.forEach((input) => { input.value = ""; });
          sits.value = "";
          painted.checked = false;
        }
      });
    });
    return element;
  }

  // What the form changes in a mark; an empty field leaves what was said before.
  function changes(said, body) {
    const changed = { note: noteOf({ ...said, free: body.note }) };
    const texts = { size: said.size, said_leg: said.leg, said_offset: said.offset };
    Object.entries(texts).filter(([, text]) => text)
      .forEach(([name, text]) => { changed[name] = text; });
    if (said.station) {
      Object.assign(changed, { said_station: said.station, method: "wheeled" });
    }
    return changed;
  }

  function look(row, onLook) {
    const box = make("div", "look");
    const where = [row.street || row.leg, row.station, row.side].filter(Boolean).join(" ");
    const state = make("p", "small", "");
    const pair = make("div", "pairs");
    const answer = (found) => onLook(row, found).then((kept) => {
      if (kept) {
        state.textContent = found ? "Found, kept" : "Not found, kept";
      }
    });
    pair.append(
      button("Found", () => answer(true)), button("Not found", () => answer(false)),
    );
    box.append(make("p", "", `${where}: ${row.what}`), make("p", "small", row.why), state, pair);
    return box;
  }

  function show(section, { handed, onDetails, onLook }) {
    const rows = handed?.search || [];
    const list = make("div");
    list.append(
      make("h2", "", "Look here"),
      ...(rows.length ? rows.map((row) => look(row, onLook)) : [
        make("p", "small", "No search list on this phone."),
      ]),
    );
    section.replaceChildren(form(handed?.legs || [], onDetails), list);
  }

  return { changes, show };
})();
