// The stage: before over after, whose rows are drawn as they come into view; only changed rows are
// drawn anew. What else is looked at for a while (guises, a lesson, faults) stands in its place.

import { $, ask, make, music, say } from "./asking.js";
import { openGallery } from "./gallery.js";
import { prepare, quiet, renew } from "./page.js";

const MOST_KEPT = 400;
const IDLE = 900; // milliseconds after which rows out of view are drawn as well
const MOST_IDLE = 60; // rows; a longer score is drawn where it is looked at
const rows = $("#rows");
const small = matchMedia("(max-width: 40rem)");
const drawn = new Map(); // section by key, the oldest first
let keys = [];
let bars = []; // the bars of the last version in each row
let turn = 0;
let height = 260; // of a row that is not drawn yet
let hush = () => {};

export const narrow = () => small.matches;

const seen = () => {
  const found = [...rows.children].map((row) => row.getBoundingClientRect());
  const first = found.findIndex((box) => box.bottom > -200);
  const last = found.findLastIndex((box) => box.top < innerHeight + 200);
  return first < 0 || last < first ? [0, 2] : [first, last + 1];
};

export const looked = () => ({ narrow: narrow(), near: seen(), have: [...drawn.keys()] });

const keep = (found) => {
  const own = new Set([...$("#glyphs").children].map((each) => each.id));
  for (const [name, path] of Object.entries(found.glyphs)) {
    if (own.has(`glyph-${name}`)) continue;
    const holder = make("div", {
      innerHTML: `<svg xmlns="http://www.w3.org/2000/svg"><g id="glyph-${name}">${path}</g></svg>`,
    });
    $("#glyphs").append(holder.firstChild.firstChild);
  }
  for (const [key, html] of Object.entries(found.drawn || {})) {
    const section = make("div", { innerHTML: html }).firstChild;
    section.dataset.key = key;
    drawn.set(key, section);
  }
  while (drawn.size > MOST_KEPT) drawn.delete(drawn.keys().next().value);
};

export const keepGlyphs = (glyphs) => keep({ glyphs });

// Children that are right already stay where they are, with what has the focus in them.
const settle = (nodes) => {
  nodes.forEach((node, at) => {
    if (rows.children[at] !== node) rows.insertBefore(node, rows.children[at] || null);
  });
  while (rows.children.length > nodes.length) rows.lastElementChild.remove();
};

const waiting = (key) => {
  const section = make("section", { className: "row-of-music waiting" });
  section.dataset.key = key;
  section.style.minHeight = `${height}px`;
  return section;
};

const place = () => {
  const focused = document.activeElement?.closest?.("[data-bar]");
  const bar = focused && [focused.closest("[data-version]").dataset.version, focused.dataset.bar];
  const old = new Map([...rows.children].map((each) => [each.dataset.key, each]));
  settle(keys.map((key) => drawn.get(key) || old.get(key) || waiting(key)));
  const measured = rows.querySelector(".row-of-music:not(.waiting)");
  if (measured?.offsetHeight) height = measured.offsetHeight;
  prepare();
  if (bar && !rows.contains(document.activeElement)) {
    const [version, index] = bar;
    rows.querySelector(`[data-version="${version}"] [data-bar="${index}"]`)?.focus({ preventScroll: true });
  }
  for (const each of rows.querySelectorAll(".waiting")) watcher.observe(each);
};

let wanted = new Set();
let timer = 0;
const fetchRows = async (some) => {
  const now = turn;
  try {
    const found = await (await ask("draw", { ...music(), narrow: narrow(), keys: some })).json();
    if (now !== turn) return;
    if (found.overfull) {
      rows.dispatchEvent(new Event("overfull"));
      return;
    }
    keep(found);
    place();
  } catch (problem) {
    if (now === turn) say(problem.message, true);
  }
};
const watcher = new IntersectionObserver(
  (entries) => {
    for (const { isIntersecting, target } of entries) {
      if (!isIntersecting) continue;
      watcher.unobserve(target);
      wanted.add(target.dataset.key);
    }
    clearTimeout(timer);
    if (wanted.size) {
      timer = setTimeout(() => {
        const some = [...wanted].filter((key) => keys.includes(key) && !drawn.has(key)).slice(0, 12);
        wanted = new Set();
        if (some.length) fetchRows(some);
      }, 40);
    }
  },
  { rootMargin: "500px" },
);

// The row that holds a bar which is not drawn yet is scrolled to, and so drawn.
rows.addEventListener("wanted", (event) => {
  const at = bars.findIndex((some) => some.includes(event.detail));
  rows.children[at]?.scrollIntoView({ block: "center" });
});

let idle = 0;
// Rows come first, to be looked at; what is told of the music and heard of it follows.
export const showTold = (found) => {
  renew(found.music);
  prepare();
  $("#line").textContent = Object.keys(found.lines).length === 1 ? Object.values(found.lines)[0] : "";
  $("#told").replaceChildren(...found.told.map((line) => make("li", { textContent: line })));
  $("#changes").innerHTML = found.music.versions.length > 1 ? found.changes : "";
};

export const showRows = (found) => {
  turn += 1;
  const top = [...rows.children].findIndex((row) => row.getBoundingClientRect().bottom > 0);
  const anchor = top < 0 ? null : { bar: bars[top]?.[0], at: rows.children[top].getBoundingClientRect().top };
  $("#empty").hidden = true;
  $("#sheet").hidden = !$("#other").hidden;
  $("#title").textContent = found.title;
  $("#ear fieldset").hidden = found.names.length < 2;
  keep(found);
  keys = found.keys;
  bars = found.bars;
  place();
  if (anchor && scrollY > 0) {
    const row = bars.findIndex((some) => some.includes(anchor.bar));
    const now = rows.children[row]?.getBoundingClientRect().top;
    if (now !== undefined && Math.abs(now - anchor.at) > 1) scrollBy(0, now - anchor.at);
  }
  clearTimeout(idle);
  if (keys.length <= MOST_IDLE) {
    idle = setTimeout(() => {
      const rest = keys.filter((key) => !drawn.has(key));
      if (rest.length) fetchRows(rest.slice(0, 40));
    }, IDLE);
  }
};

// --- what stands in the place of the music for a while --------------------------------------

export const closeOther = () => {
  hush();
  hush = () => {};
  $("#other").hidden = true;
  $("#other").replaceChildren();
  if (keys.length) $("#sheet").hidden = false;
};

export const showOther = (head, glyphs, tools, ...inside) => {
  closeOther();
  quiet();
  keep({ glyphs });
  const back = make("button", { type: "button", textContent: "Back to the music" });
  back.addEventListener("click", closeOther);
  const row = make("p", { className: "take" }, back, ...tools.flatMap((each) => [" ", each]));
  const heading = make("h2", { textContent: head, tabIndex: -1 });
  $("#other").append(make("div", { className: "heading" }, heading, row), ...inside);
  $("#empty").hidden = true;
  $("#sheet").hidden = true;
  $("#other").hidden = false;
  heading.focus({ preventScroll: true });
  $("#stage").scrollIntoView({ block: "start" });
};

// Short scores to be heard one after the other.
export const listOf = (found) => {
  const list = make("div", { className: "gallery", innerHTML: found.html });
  const form = make("form", {
    className: "ear",
    innerHTML:
      '<button name="play" aria-pressed="false">Play all</button>' +
      '<label>speed <input type="range" name="speed" min="25" max="200" step="5" value="100"></label>' +
      '<label>volume <input type="range" name="volume" min="0" max="100" value="70"></label>',
  });
  form.setAttribute("aria-label", "Listen");
  return [form, list];
};

export const hearAll = (found, closed) => {
  const gallery = openGallery($("#other"), found.entries);
  hush = () => {
    gallery.stop();
    closed?.();
  };
  return gallery;
};

export const onNarrow = (changed) => small.addEventListener("change", changed);
