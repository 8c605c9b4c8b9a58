// The tray: scores, books of tunes and folders that were dropped; whether their bars add up.

import { $, ask, base64, keepAll, make, music, say, score, state } from "./asking.js";
import { known, standing } from "./blanks.js";
import { showOther } from "./stage.js";

const hooks = { chosen: () => {}, mend: () => {}, chain: () => {} };

const open = async (name, bytes, piece = "") => {
  const headers = { "x-name": encodeURIComponent(name), "x-piece": encodeURIComponent(piece) };
  return (await ask("open", bytes, headers)).json();
};

const bytesOf = (data) => Uint8Array.from(atob(data), (sign) => sign.charCodeAt(0));

export const put = async (name, bytes) => {
  say(`reading ${name}`);
  try {
    state.scores.push({ name, piece: "", data: base64(bytes), facts: await open(name, bytes) });
    drawTray();
    return true;
  } catch (problem) {
    const named = problem.message.startsWith(`${name}:`);
    say(named ? problem.message : `${name}: ${problem.message}`, true);
    return false;
  }
};

const putAll = async (files) => {
  const before = state.scores.length;
  for (const file of files) {
    if (file.name.endsWith(".toml")) await hooks.chain(await file.text());
    else await put(file.name, new Uint8Array(await file.arrayBuffer()));
  }
  const first = state.scores.findIndex(({ facts }, at) => at >= before && !facts.pieces.length);
  if (first >= 0) choose(first);
  else if (state.scores.length > before) say("choose a tune of the book");
  keepAll();
};

const takePiece = async (book, number, title) => {
  say(`reading ${title}`);
  try {
    const facts = await open(book.name, bytesOf(book.data), number);
    state.scores.push({ ...book, piece: number, facts });
    book.folded = true;
    choose(state.scores.length - 1);
  } catch (problem) {
    say(`${title}: ${problem.message}`, true);
  }
};

const putAway = (index) => {
  state.scores.splice(index, 1);
  if (state.current > index) state.current -= 1;
  else if (state.current === index) state.current = Math.min(index, state.scores.length - 1);
  const at = state.current;
  if (at >= 0 && !state.scores[at].facts.pieces.length) choose(at);
  else drawTray();
  keepAll();
};

const pieces = (book) => {
  const list = make("ul", { className: "pieces" });
  list.append(
    ...book.facts.pieces.map(([number, title]) => {
      const button = make("button", { type: "button", textContent: title || `number ${number}` });
      button.addEventListener("click", () => takePiece(book, number, title));
      return make("li", {}, button);
    }),
  );
  const count = `a book of ${book.facts.pieces.length} tunes`;
  return make("details", { open: !book.folded }, make("summary", { textContent: count }), list);
};

export const drawTray = () => {
  $("#planned").hidden = !score() || score().facts.pieces.length > 0;
  $("#scores").replaceChildren(
    ...state.scores.map((each, index) => {
      const { name, facts } = each;
      const away = make("button", { type: "button", className: "away", textContent: "put away" });
      away.setAttribute("aria-label", `Put ${facts.title} away`);
      away.addEventListener("click", () => putAway(index));
      if (facts.pieces.length) return make("li", { className: "book" }, name, away, pieces(each));
      const button = make("button", { type: "button", className: "name" });
      button.setAttribute("aria-current", index === state.current);
      button.append(facts.title === name ? name : `${facts.title} (${name})`);
      const told = facts.right
        ? `${facts.bars.length} bars, all right${facts.remarks ? `; ${facts.remarks} worth knowing` : ""}`
        : `${facts.faulty} of ${facts.bars.length} bars ${facts.faulty === 1 ? "does" : "do"} not add up`;
      button.append(make("span", { className: `state${facts.right ? "" : " wrong"}`, textContent: told }));
      button.addEventListener("click", () => choose(index));
      const item = make("li", {}, button, away);
      if (!facts.right || facts.remarks) {
        const which = make("button", { type: "button", className: "which", textContent: "See which" });
        which.addEventListener("click", () => {
          choose(index);
          showFaults();
        });
        const mend = make("button", { type: "button", textContent: "Mend it" });
        mend.addEventListener("click", () => {
          choose(index);
          hooks.mend();
        });
        item.append(make("p", { className: "remedy" }, which, " ", ...(facts.right ? [] : [mend])));
      }
      return item;
    }),
  );
};

export const choose = (index) => {
  state.current = index;
  for (const button of document.querySelectorAll("#metres, #make-lesson, [data-lesson]")) {
    button.disabled = false;
  }
  drawTray();
  keepAll();
  hooks.chosen();
};

// Every bar that does not add up, drawn, with the place marked.
const showFaults = async () => {
  say("looking at the bars");
  try {
    const found = await (await ask("check", { ...music(), told: state.check })).json();
    score().facts = { ...score().facts, right: found.right, faulty: found.faulty, remarks: found.remarks.length };
    drawTray();
    const list = make("ol", { className: "faults" });
    for (const each of found.faults) {
      const item = make("li", {}, make("h3", { textContent: `Bar ${each.bar}` }));
      item.append(...each.says.map((line) => make("p", { textContent: line })));
      const drawn = make("div", { innerHTML: each.svg });
      drawn.querySelector(`[data-bar="${each.at}"]`)?.classList.add("faulty");
      const svg = drawn.querySelector("svg");
      svg?.setAttribute("aria-hidden", "true");
      if (svg) drawn.style.maxWidth = `${svg.viewBox.baseVal.width / 21}px`;
      item.append(drawn);
      list.append(item);
    }
    const odd = make("ul", { className: "lines" });
    odd.append(...found.remarks.map((line) => make("li", { textContent: line })));
    const remarks = found.remarks.length ? [make("h3", { textContent: "No fault, but worth knowing" }), odd] : [];
    const more = found.left ? make("p", { textContent: `${found.left} more bars do not add up.` }) : "";
    const mend = make("button", { type: "button", textContent: "Mend them" });
    mend.addEventListener("click", () => hooks.mend());
    const head = found.right ? "Every bar adds up" : "Bars that do not add up";
    showOther(head, found.glyphs, found.right ? [] : [mend], list, more, ...remarks);
    say(head);
  } catch (problem) {
    say(problem.message, true);
  }
};

// All files of what was dropped; folders are walked through.
const walk = async (entry) => {
  if (entry.isFile) return [await new Promise((done, failed) => entry.file(done, failed))];
  const reader = entry.createReader();
  const found = [];
  for (;;) {
    const some = await new Promise((done, failed) => reader.readEntries(done, failed));
    if (!some.length) break;
    for (const each of some) found.push(...(await walk(each)));
  }
  const scores = found.filter(({ name }) => /\.(musicxml|xml|mxl|abc|krn|kern|hum|mei|midi?)$/i.test(name));
  return scores.sort((a, b) => a.name.localeCompare(b.name));
};

export const whenChosen = (chosen) => Object.assign(hooks, { chosen });

export const openTray = (given) => {
  Object.assign(hooks, given);
  $("#file").addEventListener("change", async (event) => {
    const files = [...event.target.files];
    event.target.value = "";
    await putAll(files);
  });
  addEventListener("dragover", (event) => {
    event.preventDefault();
    document.body.classList.add("over");
  });
  addEventListener("dragleave", () => document.body.classList.remove("over"));
  addEventListener("drop", async (event) => {
    event.preventDefault();
    document.body.classList.remove("over");
    const entries = [...event.dataTransfer.items].map((each) => each.webkitGetAsEntry?.()).filter(Boolean);
    const files = entries.length
      ? (await Promise.all(entries.map(walk))).flat()
      : [...event.dataTransfer.files];
    if (files.length) await putAll(files);
    else say("there was no score in what was dropped: no file ends as one does", true);
  });
  standing($("#against"), $("#against-means"), known.made.check, state.check, showFaults);
};
