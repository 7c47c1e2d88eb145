// Found tonight: what is not on the list, kept on the phone and sent later.
"use strict";

const FIND = (() => {
  const { button, lines, make } = BOXES;
  const HANDS = ["YOUR LEFT", "YOUR RIGHT", "on the line", "whole road"];
  const POSITIONS = [
    "", "curb or edge", "outer wheel path", "between wheel paths", "inner wheel path",
  ];

  // Where across as it is stored, looking up-station: turned here, once.
  function across(hand, position, travel) {
    if (!hand.startsWith("YOUR")) {
      return hand;
    }
    const right = (hand === "YOUR RIGHT") === (travel > 0);
    return [right ? "right side" : "left side", position].filter(Boolean).join(", ");
  }

  // T1, T2 … as painted; a number that was used is never proposed again.
  function nextNo(found) {
    const used = found.map((one) => Number(/^T(\d+)$/.exec(one.no)?.[1] || 0));
    return `T${Math.max(0, ...used) + 1}`;
  }

  function field(label, input) {
    const box = make("label", "field");
    box.append(make("span", "", label), input);
    return box;
  }

  function input(type, value, most) {
    const element = make("input");
    Object.assign(element, { type, value, maxLength: most, autocomplete: "off" });
    return element;
  }

  function select(values) {
    const element = make("select");
    element.append(...values.map((value) => {
      const option = make("option", "", value || "not said");
      option.value = value;
      return option;
    }));
    return element;
  }

  function hands() {
    const box = make("div", "hands");
    box.setAttribute("role", "group");
    box.setAttribute("aria-label", "Where across");
    box.append(...HANDS.map((hand) => {
      const one = button("hand", hand, () => {
        [...box.children].forEach((other) => {
          other.setAttribute("aria-pressed", String(other === one && one.ariaPressed !== "true"));
        });
      });
      one.setAttribute("aria-pressed", "false");
      return one;
    }));
    box.picked = () => [...box.children].find((one) => one.ariaPressed === "true")?.textContent || "";
    return box;
  }

  function kinds(names) {
    const list = make("datalist");
    list.id = "kinds";
    list.append(...names.map((name) => {
      const option = make("option");
      option.value = name;
      return option;
    }));
    return list;
  }

  const seen = (words) => (/ side/.test(words) ? `${words}, looking up-station` : words);

  // What was found before, the last first; what was taken back is crossed and stays.
  function before(found, onBack) {
    const list = make("ol", "list");
    list.append(...[...found].reverse().map((one) => {
      const item = make("li", one.back ? "row done" : "row");
      const text = make("div", "here");
      text.append(
        make("span", "no", one.no), make("p", "station", one.place),
        make("p", "what", one.words), ...lines("where", [seen(one.across)]),
        ...lines("note", [one.note]),
        ...(one.back ? lines("small", ["taken back"]) : []),
      );
      item.append(text);
      if (!one.back) {
        item.append(button("back", "Take back", () => onBack(one)));
      }
      return item;
    }));
    return list;
  }

  const placeWords = (place) => (
    place || "Say where you are first: Ahead, then a station, a tap or GPS."
  );

  function view({ found, names, place, way, onSave, onBack }) {
    const no = input("text", nextNo(found), 8);
    const words = input("text", "", 200);
    words.setAttribute("list", "kinds");
    const note = input("text", "", 1000);
    const [hand, position] = [hands(), select(POSITIONS)];
    const form = make("form");
    const at = make("p", "strong", placeWords(place));
    at.id = "findplace";
    const save = make("button", "wide", "Keep it");
    save.type = "submit";
    form.append(
      make("h2", "", "Found tonight"),
      at,
      field("Number, as painted", no), field("What it is", words),
      make("p", "small", `Looking the way of ${way.title}:`), hand,
      field("Where on that side", position), field("Note", note), kinds(names), save,
    );
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      save.disabled = true;
      onSave({
        no: no.value.trim().toUpperCase(),
        words: words.value.trim(),
        across: across(hand.picked(), position.value, way.travel),
        note: note.value.trim(),
      }).then(() => { save.disabled = false; });
    });
    return [form, make("h3", "", "Kept on this phone"), before(found, onBack)];
  }

  return { placeWords, view };
})();
