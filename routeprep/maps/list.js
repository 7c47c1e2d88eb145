// The list in the order of the sheet, and what is left over at its end.
"use strict";

const LIST = (() => {
  const { button, count, joined, make } = BOXES;
  const box = document.getElementById("list");
  const rest = document.getElementById("rest");
  const buttons = new Map();
  const things = new Map();
  let inTabs = null;

  function column(...parts) {
    const element = make("span", "column");
    element.append(...parts.filter(Boolean));
    return element;
  }

  const small = (text) => text && make("span", "small", text);

  function row(thing, onThing) {
    const element = button(thing.struck ? "row struck" : "row", "", () => onThing(thing));
    element.tabIndex = -1;
    const head = make("span", "line");
    head.append(make("span", "no", thing.no), make("span", "station", thing.station));
    head.append(make("span", "pm", thing.pm), make("span", "doubt", thing.doubt ? "?" : ""));
    element.append(
      column(head, small(joined(", ", thing.zero, thing.landmark))),
      column(
        make("span", "what", thing.what),
        small(joined("; ", thing.where, thing.stretch, thing.height && `height ${thing.height}`)),
      ),
      column(
        make("span", thing.stop || thing.undecided ? "do boxed" : "do", thing.do),
        small(thing.who), small(thing.lift),
      ),
      column(
        small(joined("; ", thing.status, thing.doubt && `doubt: ${thing.doubt}`)),
        thing.note && make("span", "note", thing.note),
      ),
    );
    buttons.set(thing, element);
    things.set(element, thing);
    return element;
  }

  function entry(leg, [what, which, why], onThing) {
    const item = make("li", what);
    if (what === "thing") {
      item.append(row(leg.things[which], onThing));
    } else if (what === "landmark") {
      const { text, station, side } = leg.landmarks[which];
      item.append(make("span", "name", text), make("span", "small", joined(", ", station, side)));
    } else {
      item.append(make("s", "", which), make("span", "small", why));
    }
    return item;
  }

  function head(leg) {
    const poor = JOB.poor.filter((stretch) => stretch.leg === leg.code).length;
    const many = count(poor, "stretch", "stretches");
    return [
      make("h2", "", `${leg.code}  ${leg.name}`),
      make("p", "small", `Cut from ${leg.cut_from} to ${leg.cut_to}. `
        + `Line ${leg.length}, looking ahead on stationing.`),
      leg.path_driven && make("p", "small strong", "Path driven, not plan centerline."),
      leg.designed && make("p", "small", "Designed alignment: stations keep the plan's lengths."),
      poor && make("p", "small strong", `Poorly looked at: ${many}, after the list.`),
    ].filter(Boolean);
  }

  // The row that the tab key reaches; the arrow keys go on from there.
  function stay(element) {
    if (inTabs) {
      inTabs.tabIndex = -1;
    }
    inTabs = element || null;
    if (inTabs) {
      inTabs.tabIndex = 0;
    }
  }

  const visible = () => [...things.keys()].filter((element) => !element.parentElement.hidden);

  function move(event) {
    const rows = visible();
    const at = rows.indexOf(document.activeElement);
    const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: rows.length - 1 }[event.key];
    if (at < 0 || to === undefined) {
      return;
    }
    event.preventDefault();
    const element = rows[Math.min(Math.max(to, 0), rows.length - 1)];
    stay(element);
    element.focus();
  }

  function build(onThing) {
    box.replaceChildren();
    buttons.clear();
    things.clear();
    inTabs = null;
    for (const leg of JOB.legs) {
      const section = make("section", "leg");
      const list = make("ol");
      list.append(...leg.entries.map((one) => entry(leg, one, onThing)));
      section.append(...head(leg), list);
      box.append(section);
    }
    stay(visible()[0]);
  }

  box.addEventListener("keydown", move);

  // Rows of these things only; what stands between the things is for the whole list.
  function show(kept) {
    const all = kept.size === JOB.things.length;
    box.classList.toggle("part", !all);
    for (const [thing, element] of buttons) {
      element.parentElement.hidden = !kept.has(thing);
    }
    for (const section of box.children) {
      section.hidden = !all && !section.querySelector("li.thing:not([hidden])");
    }
    stay(visible()[0]);
  }

  function choose(thing, before, scrolled) {
    buttons.get(before)?.removeAttribute("aria-current");
    const element = buttons.get(thing);
    element.setAttribute("aria-current", "true");
    stay(element);
    if (scrolled) {
      element.scrollIntoView({ block: "nearest" });
    }
  }

  function goTo(thing) {
    buttons.get(thing)?.scrollIntoView({ block: "start" });
    stay(buttons.get(thing));
  }

  const first = () => things.get(visible()[0]);
  const focus = (thing) => (thing ? buttons.get(thing) : inTabs)?.focus();

  // --- what is left over ----------------------------------------------------------------------

  function end(title, many, items, id) {
    if (!items.length) {
      return;
    }
    const section = make("section", "end");
    const list = make("ul");
    section.append(make("h2", "", many === null ? title : `${title} (${many})`), list);
    if (id) {
      section.id = id;
    }
    for (const item of items) {
      const element = make("li");
      element.append(item);
      list.append(element);
    }
    rest.append(section);
  }

  function shown(parts, action) {
    const element = action ? button("row", "", action) : make("div", "row");
    const [title, ...others] = parts;
    element.append(make("span", "what", title), ...others.filter(Boolean).map(small));
    return element;
  }

  const text = (words) => make("p", "", words);

  function left({ source, why, count: many, names }) {
    const more = many - names.length;
    const others = more ? `, and ${more} more: the sheet's back pages name all` : "";
    return text(`${source}: ${why} (${many}): ${names.join(", ")}${others}`);
  }

  function buildRest({ onPoor, onLook, onUnsorted }) {
    const { draft, elsewhere, look, poor, said, unsorted } = JOB;
    rest.replaceChildren();
    end("Poorly looked at", poor.length, poor.map((one) => (
      shown([`${one.leg} ${one.stretch}`, one.why], () => onPoor(one))
    )));
    end("Look here again", look.length, look.map((one) => shown([
      joined(" ", one.leg, one.station), joined(" ", one.no, one.what), one.side, one.why,
      one.owner && `owner: ${one.owner}`,
    ], () => onLook(one))), "lookend");
    end("Sort before issue", unsorted.length, unsorted.map((one) => shown([
      one.words || "(no words)", one.why, one.looks_like && `looks like ${one.looks_like}`,
      one.source,
    ], one.at.length ? () => onUnsorted(one) : null)));
    const many = elsewhere.reduce((sum, one) => sum + one.count, 0);
    end("Not on the list", many, elsewhere.map(left));
    end("Numbers of no leg here", JOB.withdrawn.length, JOB.withdrawn.map(({ no, why }) => (
      text(`${no}: ${why}`)
    )));
    end("Review", null, said.reviews.map(text));
    end("Check on the day", null, said.checks.map(text));
    end("Why this is a draft", draft.length, draft.map(text));
  }

  return { build, buildRest, choose, first, focus, goTo, show };
})();
