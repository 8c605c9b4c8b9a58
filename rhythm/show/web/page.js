// The page: puts the ear, the threads and the strip to work on the music that stands in it.
//
// A page from disk holds its music as data. Whoever serves a page that stays while the music
// changes hands the data of each new version to ``renew`` and says ``prepare`` when rows were drawn.

import { Ear } from "./ear.js";
import { Threads, partOf, sentence } from "./threads.js";
import { drawStrip } from "./strip.js";

const $ = (selector) => document.querySelector(selector);
let music = { versions: [], columns: [], strands: [] };
let versions = [];
let byPrefix = {};
let last = null;
let threads = new Threads([]);
const ear = new Ear({});
const rows = $("#rows");

// Which column holds a bar of a version; a column is what both versions say together.
const columnOf = (prefix, bar) =>
  music.columns.findIndex((each) => each[prefix] && each[prefix][0] <= bar && bar < each[prefix][1]);

const number = (prefix, bar) => byPrefix[prefix].numbers[bar];
const state = { from: 0, to: 0, now: null };

// --- the layout: wide, or narrow on a small screen ------------------------------------------

const unpack = async (packed) => {
  const bytes = Uint8Array.from(atob(packed), (sign) => sign.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).text();
};

const wide = [...rows.children]; // none where rows are drawn as they are asked for
let narrow = null;
const small = matchMedia("(max-width: 40rem)");
const layOut = async () => {
  if (small.matches && music.narrow) {
    if (!narrow) {
      const holder = document.createElement("div");
      holder.innerHTML = await unpack(music.narrow);
      narrow = [...holder.children];
    }
    rows.replaceChildren(...narrow);
  } else if (wide.length && rows.firstElementChild !== wide[0]) {
    rows.replaceChildren(...wide);
  }
  prepare();
};
small.addEventListener("change", layOut);
addEventListener("beforeprint", () => {
  threads.clear();
  if (wide.length && rows.firstElementChild !== wide[0]) rows.replaceChildren(...wide);
});
addEventListener("afterprint", layOut);

const gently = () =>
  matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth";

let notes = new Map();
export const prepare = () => {
  notes = new Map();
  for (const note of rows.querySelectorAll("[data-event]")) {
    const name = note.dataset.event;
    if (notes.has(name)) notes.get(name).push(note);
    else notes.set(name, [note]);
  }
  for (const bar of rows.querySelectorAll("[data-bar]")) {
    const version = byPrefix[bar.closest("[data-version]").dataset.version];
    bar.setAttribute("role", "button");
    bar.setAttribute("aria-label", version?.sentences[bar.dataset.bar] || "");
    bar.setAttribute("tabindex", "-1");
  }
  const first = barOf(document.activeElement)?.node || rows.querySelector("[data-bar]");
  if (first) first.setAttribute("tabindex", "0");
  mark();
};

// --- bars: pointed at, focused, chosen ------------------------------------------------------

// A bar is all of its room on the page, not only its ink.
const barAt = (event) => {
  const system = event.target.closest?.("[data-version]");
  const under =
    event.target.closest?.("[data-bar]") ||
    [...(system?.querySelectorAll("[data-bar]") || [])].find((each) => {
      const box = each.getBoundingClientRect();
      return box.left <= event.clientX && event.clientX < box.right;
    });
  return under ? { ...barOf(under), parts: partsNear(under, event.clientY) } : null;
};

// The parts whose staff is the nearest to a height: pointing at one voice shows its threads alone.
const partsNear = (bar, height) => {
  let best = null;
  for (const staff of bar.querySelectorAll(".staff")) {
    const lines = staff.querySelectorAll(":scope > path");
    if (!lines.length) continue;
    const top = lines[0].getBoundingClientRect().top;
    const bottom = lines[lines.length - 1].getBoundingClientRect().top;
    const far = Math.abs((top + bottom) / 2 - height);
    if (!best || far < best.far) best = { far, staff };
  }
  const events = [...(best?.staff.querySelectorAll("[data-event]") || [])];
  return events.length ? new Set(events.map((each) => partOf(each.dataset.event))) : null;
};

const barOf = (node) => {
  const bar = node?.closest?.("[data-bar]");
  if (!bar) return null;
  return {
    node: bar,
    bar: Number(bar.dataset.bar),
    prefix: bar.closest("[data-version]").dataset.version,
    row: bar.closest(".row-of-music"),
  };
};

const show = (found) => {
  for (const each of rows.querySelectorAll(".said")) each.textContent = "";
  if (!found) {
    threads.clear();
    return;
  }
  const near = found.parts;
  const strands = threads
    .of(found.prefix, found.bar)
    .filter((each) => !near || near.has(partOf(each.event)));
  const said = found.row.querySelector(".said");
  const metres = versions.map((each) => each.metres);
  if (versions.length === 2) {
    const text = sentence(strands, (bar) => number("b", bar), byPrefix.a.parts);
    const where = found.prefix === "a" ? `bar ${number("a", found.bar)}, ${metres[0][found.bar]}` : `bar ${number("b", found.bar)}, ${metres[1][found.bar]}`;
    said.textContent = text ? `${where}: ${text}` : byPrefix[found.prefix].sentences[found.bar];
    threads.draw(found.row, strands);
  } else {
    said.textContent = byPrefix[found.prefix].sentences[found.bar];
  }
};

let over = null;
let near = "";
rows.addEventListener("pointermove", (event) => {
  const found = barAt(event);
  const said = [...(found?.parts || [])].join();
  if (!found || (found.node === over && said === near)) return;
  near = said;
  over?.classList.remove("over");
  over = found.node;
  over.classList.add("over");
  show(found);
});
rows.addEventListener("pointerleave", () => {
  over?.classList.remove("over");
  over = null;
  const focused = barOf(document.activeElement);
  show(focused);
});
rows.addEventListener("focusin", (event) => {
  const found = barOf(event.target);
  if (!found) return;
  for (const each of rows.querySelectorAll('[data-bar][tabindex="0"]')) {
    each.setAttribute("tabindex", "-1");
  }
  found.node.setAttribute("tabindex", "0");
  show(found);
});
rows.addEventListener("click", (event) => {
  const found = barAt(event);
  if (!found) return;
  choose(columnOf(found.prefix, found.bar), event.shiftKey);
  found.node.focus({ preventScroll: true });
});

const step = (found, way) => {
  const all = [...rows.querySelectorAll(`[data-version="${found.prefix}"] [data-bar]`)];
  const next = all[all.indexOf(found.node) + way];
  if (next) {
    next.focus({ preventScroll: true });
    next.scrollIntoView({ block: "nearest", behavior: gently() });
  }
};
const across = (found) => {
  const other = found.prefix === "a" ? "b" : "a";
  const column = music.columns[columnOf(found.prefix, found.bar)];
  if (!column?.[other]) return;
  rows.querySelector(`[data-version="${other}"] [data-bar="${column[other][0]}"]`)?.focus();
};
rows.addEventListener("keydown", (event) => {
  const found = barOf(event.target);
  if (!found || event.ctrlKey || event.metaKey || event.altKey) return;
  const keys = {
    ArrowRight: () => step(found, 1),
    ArrowLeft: () => step(found, -1),
    ArrowDown: () => across(found),
    ArrowUp: () => across(found),
    Enter: () => choose(columnOf(found.prefix, found.bar), event.shiftKey),
  };
  if (!(event.key in keys)) return;
  event.preventDefault();
  keys[event.key]();
});

// --- what is heard --------------------------------------------------------------------------

const controls = $("#ear");
const field = (name) => controls.elements[name];
const which = () => (versions.length > 1 && field("which")?.value) || last?.prefix;

const choose = (column, further = false) => {
  if (column < 0) return;
  if (further) {
    state.from = Math.min(state.from, column);
    state.to = Math.max(column, state.from);
    field("loop").checked = true;
    ear.change({ loop: true });
  } else {
    state.from = column;
    if (state.to < column || !field("loop").checked) state.to = music.columns.length - 1;
  }
  fill();
  mark();
  if (ear.playing) start();
};

const fill = () => {
  field("from").value = state.from;
  field("to").value = state.to;
};

const mark = () => {
  const looped = field("loop").checked;
  for (const bar of rows.querySelectorAll("[data-bar]")) {
    const prefix = bar.closest("[data-version]").dataset.version;
    const column = columnOf(prefix, Number(bar.dataset.bar));
    bar.classList.toggle("chosen", looped && column >= state.from && column <= state.to);
    bar.classList.toggle("start", column === state.from && (looped || state.from > 0));
  }
};

// The stretch of a performance in which these bars come for the first time.
const stretch = (prefix, first, end, onwards) => {
  const bars = byPrefix[prefix].performance.bars;
  const at = bars.findIndex((each) => each[0] >= first && each[0] < end);
  if (at < 0) return null;
  let until = at;
  while (until + 1 < bars.length && (onwards || (bars[until + 1][0] >= first && bars[until + 1][0] < end))) {
    until += 1;
  }
  return { version: prefix, from: bars[at][1], to: bars[until][2] };
};

const stretches = () => {
  const looped = field("loop").checked;
  const chosen = music.columns.slice(state.from, looped ? state.to + 1 : undefined);
  const of = (prefix, column, onwards) =>
    column[prefix] && stretch(prefix, column[prefix][0], column[prefix][1], onwards);
  if (which() === "turns") {
    return chosen.flatMap((column) => [of("a", column), of("b", column)]).filter(Boolean);
  }
  const own = chosen.filter((column) => column[which()] && column[which()][1] > column[which()][0]);
  if (!own.length) return [];
  const first = own[0][which()][0];
  const end = own.at(-1)[which()][1];
  return [stretch(which(), first, end, !looped)].filter(Boolean);
};

const start = (within = 0) => {
  ear.loop = field("loop").checked;
  ear.play(stretches(), within);
};

const toggle = () => (ear.playing ? ear.stop() : start());

// Where in what is played a column is heard, in milliseconds; its beginning where it is not.
const reached = (column, prefix) => {
  let at = 0;
  for (const each of stretches()) {
    const wanted = music.columns[column]?.[prefix]?.[0];
    const bar = byPrefix[each.version]?.performance.bars.find(
      ([index, from, until]) => index === wanted && from >= each.from && until <= each.to,
    );
    if (each.version === prefix && bar) return at + bar[1] - each.from;
    at += each.to - each.from;
  }
  return 0;
};

ear.onstate = (playing) => {
  const button = field("play");
  button.textContent = playing ? "Stop" : "Play";
  button.setAttribute("aria-pressed", playing);
  document.body.classList.toggle("playing", playing);
  if (!playing) state.now = null;
  if (!playing) for (const each of rows.querySelectorAll(".now")) each.classList.remove("now");
};
let lit = [];
ear.onlight = (names) => {
  for (const note of lit) note.classList.remove("lit");
  lit = [...names].flatMap((name) => notes.get(name) || []);
  for (const note of lit) note.classList.add("lit");
};
ear.onbar = (prefix, bar) => {
  state.now = { prefix, column: columnOf(prefix, bar) };
  const node = rows.querySelector(`[data-version="${prefix}"] [data-bar="${bar}"]`);
  for (const each of rows.querySelectorAll(".now")) each.classList.remove("now");
  if (!node) return;
  node.classList.add("now");
  if (field("follow").checked) {
    const lid = getComputedStyle(controls).position === "sticky" ? controls.offsetHeight : 0;
    let box = node.closest(".row-of-music").getBoundingClientRect();
    // Where both versions do not fit, the one that sounds is shown.
    if (box.height > innerHeight - lid) box = node.closest(".system").getBoundingClientRect();
    if (box.top < lid || box.bottom > innerHeight) {
      scrollTo({ top: scrollY + box.top - lid - 16, behavior: gently() });
    }
  }
};

const speed = () => Number(field("speed").value) / 100;
const tell = () => {
  $("#speed-said").textContent = `${field("speed").value}%`;
};
controls.addEventListener("submit", (event) => {
  event.preventDefault();
  toggle();
});
controls.addEventListener("input", (event) => {
  const name = event.target.name;
  if (name === "speed") ear.change({ speed: speed() });
  if (name === "volume") ear.change({ volume: Number(field("volume").value) / 100 });
  if (name === "click") ear.change({ click: field("click").value });
  if (name === "count") ear.countIn = field("count").checked;
  if (name === "which" || name === "loop") {
    mark();
    if (ear.playing) start();
  }
  if (name === "from" || name === "to") {
    state.from = Number(field("from").value);
    state.to = Math.max(state.from, Number(field("to").value));
    fill();
    mark();
    if (ear.playing) start();
  }
  tell();
});
addEventListener("keydown", (event) => {
  if (event.key !== " " || event.ctrlKey || event.metaKey || event.altKey) return;
  if (!versions.length || rows.closest("[hidden]")) return;
  // What takes the space bar itself keeps it.
  const own = "button, select, textarea, a, summary, input:not([type=range])";
  if (event.target.matches?.(own)) return;
  event.preventDefault();
  toggle();
});

const options = (select) => {
  select.replaceChildren(
    ...music.columns.map((column, index) => {
      const made = document.createElement("option");
      made.value = index;
      const own = versions.find((each) => column[each.prefix] && column[each.prefix][1] > column[each.prefix][0]);
      const [first, end] = column[own.prefix];
      const name = number(own.prefix, first);
      made.textContent = end - first > 1 ? `${name}–${number(own.prefix, end - 1)}` : name;
      return made;
    }),
  );
};

// --- the music is another -------------------------------------------------------------------

const goTo = (bar) => {
  const named = `[data-version="${last.prefix}"] [data-bar="${bar}"]`;
  const node = rows.querySelector(named);
  node?.focus({ preventScroll: true });
  node?.closest(".row-of-music").scrollIntoView({ block: "center", behavior: gently() });
  if (!node) rows.dispatchEvent(new CustomEvent("wanted", { detail: bar }));
};

// Other music in the place of what was here; what is chosen stays, and what is heard goes on from
// the bar that it has come to.
export const renew = (fresh) => {
  const heard = ear.playing ? state.now : null;
  const whole = !state.to || state.to >= music.columns.length - 1;
  ear.stop();
  threads.clear();
  music = fresh;
  versions = music.versions;
  byPrefix = Object.fromEntries(versions.map((each) => [each.prefix, each]));
  last = versions.at(-1);
  threads = new Threads(music.strands);
  ear.performances = Object.fromEntries(versions.map((each) => [each.prefix, each.performance]));
  const end = music.columns.length - 1;
  state.from = Math.min(state.from, end);
  state.to = whole ? end : Math.min(Math.max(state.to, state.from), end);
  options(field("from"));
  options(field("to"));
  fill();
  tell();
  ear.speed = speed();
  ear.volume = Number(field("volume").value) / 100;
  ear.click = field("click").value;
  ear.countIn = field("count").checked;
  drawStrip($("#strip-marks"), $("#strip-legend"), music.proof, music.verdicts, goTo);
  if (heard) start(reached(heard.column, versions.length > 1 ? heard.prefix : last.prefix));
};

export const quiet = () => ear.stop();

addEventListener("resize", () => {
  const focused = barOf(document.activeElement);
  show(focused);
});

const held = $("#music[type]");
if (held) {
  renew(JSON.parse(held.textContent));
  await layOut();
  document.body.classList.add("ready");
}
