// The chain: sentences that stand under one another; undo and redo are its own history.

import { $, keepAll, make, state } from "./asking.js";
import { known, write } from "./blanks.js";
import { closeOther } from "./stage.js";

export const told = { lines: {}, problem: {} };
let follow = () => {};

// ``drawn``: the sentences show it already, and a list that is being typed in stays as it is.
export const change = (next, drawn = false) => {
  state.past.push(JSON.stringify(state.chain));
  state.future = [];
  state.chain = next;
  told.lines = {};
  told.problem = {};
  closeOther();
  if (drawn) drawHistory();
  else drawChain();
  keepAll();
  follow();
};

export const addStep = (verb, options = {}) => {
  const step = { verb };
  for (const blank of known.sentence[verb].blanks) {
    if (blank.first && blank.first !== blank.usual) step[blank.name] = blank.first;
    if (NEEDED.includes(blank.name)) step[blank.name] = blank.usual;
  }
  change([...state.chain, { ...step, ...options }]);
};

const NEEDED = ["to", "devices"]; // a verb cannot do without them

const setBlank = (index) => (blank, value, drawn) => {
  const next = structuredClone(state.chain);
  const kept = value && value !== blank.usual;
  if (kept) next[index][blank.name] = value;
  else if (NEEDED.includes(blank.name)) next[index][blank.name] = value || blank.usual;
  else delete next[index][blank.name];
  change(next, drawn);
};

const move = (index, way) => {
  const next = [...state.chain];
  [next[index], next[index + way]] = [next[index + way], next[index]];
  change(next);
};

const toggle = (index) => {
  const next = structuredClone(state.chain);
  if (next[index].off) delete next[index].off;
  else next[index].off = true;
  change(next);
};

// What came of each sentence, beside it; what is being filled in meanwhile is left alone.
export const drawTold = () => {
  for (const [index, place] of [...document.querySelectorAll("#chain .told")].entries()) {
    place.replaceChildren();
    const line = told.lines[index + 1];
    if (line) place.append(make("p", { className: "line", textContent: line }));
    if (told.problem.step !== index + 1) continue;
    const problem = make("p", { className: "problem", textContent: told.problem.says });
    problem.setAttribute("role", "alert");
    place.append(problem);
  }
};

export const drawChain = () => {
  const active = document.activeElement;
  const row = [...document.querySelectorAll("#chain li")].findIndex((li) => li.contains(active));
  const focused = active?.dataset?.blank ? `[data-blank="${active.dataset.blank}"]` : active?.dataset?.tool ? `[data-tool="${active.dataset.tool}"]` : "";
  const opened = [...document.querySelectorAll("#chain li")].map((li) => li.querySelector("details")?.open);
  const means = [...document.querySelectorAll("#chain .means")].map((each) => [...each.childNodes]);
  $("#chain").replaceChildren(
    ...state.chain.map((step, index) => {
      const item = make("li", { className: step.off ? "off" : "" });
      const body = make("div", { className: "sentence" });
      const line = make("p", { className: "means" });
      line.append(...(means[index] || []));
      write(body, known.sentence[step.verb], step, line, setBlank(index), drawChain);
      const more = body.querySelector("details");
      if (more && opened[index]) more.open = true;
      const tools = make("p", { className: "tools" });
      const tool = (label, name, action, disabled = false) => {
        const button = make("button", { type: "button", textContent: label, disabled });
        button.dataset.tool = name;
        button.setAttribute("aria-label", `${label}: sentence ${index + 1}`);
        button.addEventListener("click", action);
        tools.append(button, " ");
      };
      tool("up", "up", () => move(index, -1), index === 0);
      tool("down", "down", () => move(index, 1), index === state.chain.length - 1);
      tool(step.off ? "switch on" : "switch off", "off", () => toggle(index));
      tool("take out", "out", () => change(state.chain.filter((_, at) => at !== index)));
      item.append(body, line, make("div", { className: "told" }), tools);
      return item;
    }),
  );
  if (row >= 0 && focused) {
    const items = document.querySelectorAll("#chain li");
    const item = items[Math.min(row, items.length - 1)];
    item?.querySelector(focused)?.focus({ preventScroll: true });
  }
  drawHistory();
};

const drawHistory = () => {
  drawTold();
  $("#undo").disabled = !state.past.length;
  $("#redo").disabled = !state.future.length;
};

const back = (from, to) => {
  if (!from.length) return;
  to.push(JSON.stringify(state.chain));
  state.chain = JSON.parse(from.pop());
  closeOther();
  drawChain();
  keepAll();
  follow();
};

export const openChain = (changed) => {
  follow = changed;
  $("#undo").addEventListener("click", () => back(state.past, state.future));
  $("#redo").addEventListener("click", () => back(state.future, state.past));
  addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.matches?.("input, pre")) return;
    const key = event.key.toLowerCase();
    if (key === "z" && !event.shiftKey) back(state.past, state.future);
    else if (key === "y" || (key === "z" && event.shiftKey)) back(state.future, state.past);
    else return;
    event.preventDefault();
  });
  const verbs = Object.values(known.sentence);
  $("#add").append(...verbs.map(({ verb, title }) => make("option", { value: verb, textContent: title })));
  $("#add").addEventListener("change", (event) => {
    const verb = event.target.value;
    event.target.value = "";
    if (!verb) return;
    addStep(verb);
    $("#chain > li:last-child [data-blank]")?.focus();
  });
};
