// The bench: a tray of scores, a chain of sentences, the music before over after, and a door.
//
// The page holds the scores and the chain, and keeps them when the server has gone; the server is
// asked to work on bytes and gives bytes back.

const $ = (selector) => document.querySelector(selector);
const { sentences, devices } = await (await fetch("words")).json();
const sentence = Object.fromEntries(sentences.map((each) => [each.verb, each]));
const deviceWords = devices.map((each) => [each.usage.replace(/[[:].*/, "") + usual(each), each.usage]);

function usual(device) {
  // An example of the handbook names an argument that works.
  const found = device.example.match(/^[a-z-]+:([^:]+):/);
  return found ? `:${found[1]}` : "";
}

const state = {
  scores: [], // {name, data (base64), facts}
  current: -1,
  chain: [], // {verb, ...options, off}
  past: [],
  future: [],
  turn: 0,
};

// --- asking ---------------------------------------------------------------------------------

const say = (text, wrong = false) => {
  $("#status").textContent = text;
  $("#status").classList.toggle("wrong", wrong);
};

const ask = async (where, body, headers = {}) => {
  document.body.classList.add("busy");
  try {
    const json = !(body instanceof Uint8Array);
    const answer = await fetch(where, {
      method: "POST",
      headers: json ? { "content-type": "application/json" } : headers,
      body: json ? JSON.stringify(body) : body,
    });
    if (answer.status === 422) throw new Error((await answer.json()).problem);
    if (!answer.ok) throw new Error(await answer.text());
    return answer;
  } catch (problem) {
    if (problem instanceof TypeError) {
      throw new Error(
        "the bench has been stopped; start it again and open the address it says. Your chain is kept on this page",
      );
    }
    throw problem;
  } finally {
    document.body.classList.remove("busy");
  }
};

const base64 = (bytes) => {
  let text = "";
  for (let i = 0; i < bytes.length; i += 0x8000) {
    text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  }
  return btoa(text);
};

const music = () => {
  const score = state.scores[state.current];
  return { name: score.name, data: score.data, chain: state.chain };
};

// --- the tray -------------------------------------------------------------------------------

const put = async (name, bytes) => {
  say(`reading ${name}`);
  try {
    const answer = await ask("open", bytes, { "x-name": encodeURIComponent(name) });
    state.scores.push({ name, data: base64(bytes), facts: await answer.json() });
    drawTray();
    if (state.current < 0) choose(state.scores.length - 1);
    return true;
  } catch (problem) {
    say(`${name}: ${problem.message}`, true);
    return false;
  }
};

const putAll = async (files) => {
  const before = state.scores.length;
  for (const file of files) {
    await put(file.name, new Uint8Array(await file.arrayBuffer()));
  }
  if (state.scores.length > before) choose(before);
};

const drawTray = () => {
  $("#scores").replaceChildren(
    ...state.scores.map(({ name, facts }, index) => {
      const item = document.createElement("li");
      const button = make("button", { type: "button", className: "name" });
      button.setAttribute("aria-current", index === state.current);
      button.append(facts.title === name ? name : `${facts.title} (${name})`);
      const told = facts.right
        ? `${facts.bars.length} bars, all right`
        : `${facts.faulty} of ${facts.bars.length} bars do not add up`;
      button.append(make("span", { className: `state${facts.right ? "" : " wrong"}`, textContent: told }));
      button.addEventListener("click", () => choose(index));
      item.append(button);
      if (!facts.right) {
        const list = make("ul", {});
        list.append(...facts.faults.map((fault) => make("li", { textContent: fault })));
        const details = make("details", {});
        const mend = make("button", { type: "button", textContent: "Mend it" });
        mend.addEventListener("click", () => {
          choose(index);
          addStep("mend");
        });
        details.append(make("summary", { textContent: "which, and what is wrong" }), list, mend);
        item.append(details);
      }
      return item;
    }),
  );
};

const choose = (index) => {
  state.current = index;
  for (const button of document.querySelectorAll("button:disabled")) {
    if (!["undo", "redo"].includes(button.id)) button.disabled = false;
  }
  drawTray();
  drawChain();
  refresh();
};

$("#file").addEventListener("change", (event) => {
  putAll(event.target.files);
  event.target.value = "";
});
addEventListener("dragover", (event) => {
  event.preventDefault();
  document.body.classList.add("over");
});
addEventListener("dragleave", () => document.body.classList.remove("over"));
addEventListener("drop", (event) => {
  event.preventDefault();
  document.body.classList.remove("over");
  putAll(event.dataTransfer.files);
});

// --- the chain ------------------------------------------------------------------------------

const make = (tag, values) => Object.assign(document.createElement(tag), values);

const change = (next) => {
  state.past.push(JSON.stringify(state.chain));
  state.future = [];
  state.chain = next;
  drawChain();
  refresh();
};

const addStep = (verb, options = {}) => {
  const step = { verb };
  for (const blank of sentence[verb].blanks) {
    if (blank.first && blank.first !== blank.usual) step[blank.name] = blank.first;
  }
  for (const blank of sentence[verb].blanks) {
    if (["to", "devices"].includes(blank.name)) step[blank.name] = blank.usual;
  }
  change([...state.chain, { ...step, ...options }]);
};

const field = (step, blank, index) => {
  const facts = state.scores[state.current]?.facts;
  let words = blank.words;
  if (blank.name === "devices") words = deviceWords;
  if (blank.name === "part" && facts) words = [...words, ...facts.parts.map((p) => [p.name, p.name])];
  if (blank.name === "voice" && facts) {
    const names = [...new Set(facts.parts.flatMap((p) => p.voices))];
    words = [...words, ...names.map((name) => [name, `voice ${name}`])];
  }
  const given = String(step[blank.name] ?? blank.usual);
  const known = words.some(([word]) => word === given);
  const control = make("select", {});
  control.append(...words.map(([word, said]) => make("option", { value: word, textContent: said })));
  if (!known) control.append(make("option", { value: given, textContent: given }));
  if (blank.free) control.append(make("option", { value: "\u0000", textContent: "other …" }));
  control.value = given;
  control.setAttribute("aria-label", `${blank.name}: ${blank.means}`);
  const set = (value) => {
    const next = structuredClone(state.chain);
    if (value === "" || value === blank.usual) delete next[index][blank.name];
    else next[index][blank.name] = value;
    if (["to", "devices"].includes(blank.name)) next[index][blank.name] = value || blank.usual;
    change(next);
  };
  control.addEventListener("change", () => {
    if (control.value !== "\u0000") {
      set(control.value);
      return;
    }
    const free = make("input", { value: known ? "" : given, placeholder: blank.example || blank.name });
    free.setAttribute("aria-label", `${blank.name}: ${blank.means}`);
    let done = false;
    const finish = () => {
      if (!done) {
        done = true;
        set(free.value.trim());
      }
    };
    free.addEventListener("change", finish);
    free.addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        done = true;
        drawChain();
      }
    });
    free.addEventListener("blur", () => {
      if (!done) drawChain();
    });
    control.replaceWith(free);
    free.focus();
  });
  return control;
};

const filled = (text, step, index, means) =>
  text.split(/(\{\w+\})/).map((piece) => {
    const name = piece.match(/^\{(\w+)\}$/)?.[1];
    if (!name) return piece;
    const blank = sentence[step.verb].blanks.find((each) => each.name === name);
    const control = field(step, blank, index);
    control.addEventListener("focus", () => {
      means.textContent = blank.means + (blank.example ? ` (as in ${blank.example})` : "");
    });
    return control;
  });

const told = { lines: {}, problem: {} };

const drawChain = () => {
  const focused = document.activeElement?.getAttribute?.("aria-label");
  const row = [...document.querySelectorAll("#chain li")].findIndex((li) => li.contains(document.activeElement));
  $("#chain").replaceChildren(
    ...state.chain.map((step, index) => {
      const item = make("li", { className: step.off ? "off" : "" });
      const body = make("div", { className: "sentence" });
      const means = make("p", { className: "means" });
      body.append(...filled(sentence[step.verb].text, step, index, means));
      if (sentence[step.verb].more) {
        const more = make("details", {});
        const names = [...sentence[step.verb].more.matchAll(/\{(\w+)\}/g)].map((each) => each[1]);
        more.open = names.some((name) => name in step);
        more.append(make("summary", { textContent: "more" }), ...filled(sentence[step.verb].more, step, index, means));
        body.append(more);
      }
      const tools = make("p", { className: "tools" });
      const tool = (label, action, disabled = false) => {
        const button = make("button", { type: "button", textContent: label, disabled });
        button.addEventListener("click", action);
        tools.append(button, " ");
      };
      const without = () => state.chain.filter((_, i) => i !== index);
      tool("up", () => move(index, -1), index === 0);
      tool("down", () => move(index, 1), index === state.chain.length - 1);
      tool(step.off ? "switch on" : "switch off", () => {
        const next = structuredClone(state.chain);
        if (step.off) delete next[index].off;
        else next[index].off = true;
        change(next);
      });
      tool("take out", () => change(without()));
      item.append(body, means);
      if (told.lines[index + 1]) item.append(make("p", { className: "line", textContent: told.lines[index + 1] }));
      if (told.problem.step === index + 1) {
        item.append(make("p", { className: "problem", textContent: told.problem.says }));
        item.lastChild.setAttribute("role", "alert");
      }
      item.append(tools);
      return item;
    }),
  );
  if (row >= 0 && focused) {
    document.querySelectorAll("#chain li")[row]?.querySelector(`[aria-label="${CSS.escape(focused)}"]`)?.focus();
  }
  $("#undo").disabled = !state.past.length;
  $("#redo").disabled = !state.future.length;
};

const move = (index, way) => {
  const next = [...state.chain];
  [next[index], next[index + way]] = [next[index + way], next[index]];
  change(next);
};

const back = (from, to) => {
  if (!from.length) return;
  to.push(JSON.stringify(state.chain));
  state.chain = JSON.parse(from.pop());
  drawChain();
  refresh();
};
$("#undo").addEventListener("click", () => back(state.past, state.future));
$("#redo").addEventListener("click", () => back(state.future, state.past));
$("#add").append(...sentences.map((each) => make("option", { value: each.verb, textContent: each.title })));
$("#add").addEventListener("change", (event) => {
  const verb = event.target.value;
  event.target.value = "";
  if (verb) addStep(verb);
});

// --- the music ------------------------------------------------------------------------------

// The next view is loaded behind the one that is seen, and takes its place when it is ready.
const swap = (key, ready) => {
  const [seen, spare] = $("#view").hidden ? [$("#spare"), $("#view")] : [$("#view"), $("#spare")];
  const at = seen.hidden ? 0 : seen.contentWindow?.scrollY || 0;
  const old = seen.hidden ? null : seen.contentDocument;
  spare.addEventListener(
    "load",
    () => {
      keepEar(old, spare.contentDocument);
      spare.hidden = false;
      seen.hidden = true;
      seen.removeAttribute("src");
      $("#empty").hidden = true;
      document.body.classList.add("shows");
      spare.contentWindow.scrollTo(0, at);
      ready?.(spare.contentDocument);
    },
    { once: true },
  );
  spare.src = `view/${key}`;
};

// What was set on the ear stays set.
const keepEar = (from, to) => {
  const [old, fresh] = [from?.querySelector("#ear"), to?.querySelector("#ear")];
  if (!old || !fresh) return;
  for (const name of ["speed", "volume", "click", "count", "loop", "follow", "which"]) {
    const [was, is] = [old.elements[name], fresh.elements[name]];
    if (!was || !is) continue;
    if (was.type === "checkbox") is.checked = was.checked;
    else is.value = was.value;
    const control = is instanceof to.defaultView.RadioNodeList ? is[0] : is;
    control?.dispatchEvent(new to.defaultView.Event("input", { bubbles: true }));
  }
};

const refresh = async () => {
  if (state.current < 0) return;
  const turn = ++state.turn;
  say("working");
  try {
    const found = await (await ask("show", music())).json();
    if (turn !== state.turn) return;
    told.lines = found.lines;
    told.problem = found.problem;
    drawChain();
    swap(found.view);
    const asked = await (await ask("say", { name: music().name, chain: state.chain })).json();
    if (turn !== state.turn) return;
    $("#command").textContent = asked.command;
    $("#python").textContent = asked.python;
    $("#toml").textContent = asked.chain;
    $("#keep").disabled = !state.chain.length;
    const open = !found.problem.step;
    for (const button of document.querySelectorAll("[data-kind]")) button.disabled = !open;
    say(open ? `${state.scores[state.current].facts.title}: ${found.bars.length} bars` : "one sentence cannot be done; the music stays as it was before it", !open);
  } catch (problem) {
    if (turn === state.turn) say(problem.message, true);
  }
};

$("#metres").addEventListener("click", async () => {
  say("trying the metres");
  try {
    const found = await (await ask("guises", music())).json();
    swap(found.view, (page) => {
      for (const [index, article] of [...page.querySelectorAll(".guise")].entries()) {
        const take = page.createElement("button");
        take.type = "button";
        take.textContent = "Take this one";
        take.addEventListener("click", () => {
          const { verb, ...options } = found.steps[index];
          addStep(verb, options);
        });
        article.querySelector(".hear").after(take);
      }
    });
    say(`${found.steps.length} guises; take one, or change a sentence to go back`);
  } catch (problem) {
    say(problem.message, true);
  }
});

// --- the lesson -----------------------------------------------------------------------------

const lesson = $("#lesson");
const wanted = () => Object.fromEntries(new FormData(lesson));
lesson.addEventListener("submit", async (event) => {
  event.preventDefault();
  say("making the sheet");
  try {
    const found = await (await ask("lesson", { ...music(), told: wanted() })).json();
    swap(found.view);
    const left = found.left_out.length ? ` Left out: ${found.left_out.join("; ")}.` : "";
    $("#lesson-said").textContent = `${found.size}.${left}`;
    say(found.size);
  } catch (problem) {
    say(problem.message, true);
  }
});
lesson.addEventListener("click", (event) => {
  const what = event.target.dataset.take;
  if (what) carry("take-lesson", { ...music(), told: wanted(), what, paper: $("#paper").value });
});

// --- the door -------------------------------------------------------------------------------

const carry = async (where, body) => {
  say("writing");
  try {
    const answer = await ask(where, body);
    const name = decodeURIComponent(answer.headers.get("content-disposition").split("''")[1]);
    save(name, await answer.blob());
    say(`wrote ${name}`);
  } catch (problem) {
    say(problem.message, true);
  }
};

const save = (name, blob) => {
  const link = make("a", { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
};

$("#door").addEventListener("click", (event) => {
  const { kind, copy } = event.target.dataset;
  if (kind) carry("take", { ...music(), kind, paper: $("#paper").value });
  if (copy) navigator.clipboard.writeText($(`#${copy}`).textContent).then(() => say("copied"));
});
$("#keep").addEventListener("click", () => save("chain.toml", new Blob([$("#toml").textContent], { type: "text/plain" })));
$("#open-chain").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  event.target.value = "";
  if (!file) return;
  try {
    const found = await (await ask("chain", { text: await file.text() })).json();
    change(found.chain);
  } catch (problem) {
    say(problem.message, true);
  }
});

// --- the beginning --------------------------------------------------------------------------

setInterval(() => fetch("alive", { method: "POST" }).catch(() => {}), 15_000);
const { files } = await (await fetch("given")).json();
for (const [index, name] of files.entries()) {
  const answer = await fetch(`given/${index}`);
  if (answer.ok) await put(name, new Uint8Array(await answer.arrayBuffer()));
  else say(`${name}: ${(await answer.json()).problem}`, true);
}
document.body.classList.add("ready");
