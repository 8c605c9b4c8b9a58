// Asking the server, and saying what came of it; what the page holds.
//
// The page holds the scores and the chain, and keeps them when the server has gone; the server is
// asked to work on bytes and gives bytes back.

export const $ = (selector) => document.querySelector(selector);
export const make = (tag, values = {}, ...inside) => {
  const made = Object.assign(document.createElement(tag), values);
  made.append(...inside);
  return made;
};

export const state = {
  scores: [], // {name, piece, data (base64), facts}
  current: -1,
  chain: [], // {verb, ...options, off}
  past: [],
  future: [],
  lesson: {},
  guises: { most: "40" },
  midi: {},
  page: {},
  check: {},
  plan: "",
  ladder: "", // of tempi to practise at
};

export const score = () => state.scores[state.current];
export const music = () => {
  const { name, piece, data } = score();
  return { name, piece, data, chain: state.chain, others: others() };
};

// Other scores of the tray that a sentence speaks of, by the names of their files.
export const spokenOf = () => {
  const own = score()?.name;
  return state.scores.filter((each) => !each.facts.pieces.length && !each.piece && each.name !== own);
};
const others = () => {
  const said = new Set([...state.chain, state.lesson].map((each) => each.manner));
  return Object.fromEntries(
    spokenOf().filter(({ name }) => said.has(name)).map(({ name, data }) => [name, data]),
  );
};

export const say = (text, wrong = false) => {
  $("#status").textContent = text;
  $("#status").classList.toggle("wrong", wrong);
};

// A notice stays until it no longer holds.
export const notice = (text, ...more) => {
  $("#notice").replaceChildren(text, ...more);
  $("#notice").hidden = !text;
};

let asking = 0;
export const ask = async (where, body, headers = {}) => {
  asking += 1;
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
      stopped();
      throw new Error("the bench has been stopped");
    }
    throw problem;
  } finally {
    asking -= 1;
    document.body.classList.toggle("busy", asking > 0);
  }
};

export const stopped = () => {
  const keep = make("button", { type: "button", textContent: "Save your sentences" });
  keep.addEventListener("click", () => save("chain.toml", chainText()));
  notice(
    "The bench has been stopped. Start it again in the terminal with “remetre bench”, and drop your" +
      " score and your saved sentences on the page that opens. Nothing here is lost while this page" +
      " stays open. ",
    keep,
  );
};

export const save = (name, content) => {
  const blob = content instanceof Blob ? content : new Blob([content], { type: "text/plain" });
  const link = make("a", { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
};

export const carry = async (where, body) => {
  say("writing");
  try {
    const answer = await ask(where, body);
    const name = decodeURIComponent(answer.headers.get("content-disposition").split("''")[1]);
    save(name, await answer.blob());
    say(`${name} is in your downloads`);
  } catch (problem) {
    say(problem.message, true);
  }
};

// The chain as text without the server, for the day it has gone.
export const chainText = () =>
  state.chain
    .map((step) => {
      const lines = Object.entries(step).map(([key, value]) => `${key} = ${JSON.stringify(value)}`);
      return `[[step]]\n${lines.join("\n")}\n`;
    })
    .join("\n");

export const base64 = (bytes) => {
  let text = "";
  for (let i = 0; i < bytes.length; i += 0x8000) {
    text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  }
  return btoa(text);
};

// What was dropped and said outlives a reload of the page, in this tab alone.
const KEPT = "bench";
export const keepAll = () => {
  const { past, future, ...held } = state;
  try {
    sessionStorage.setItem(KEPT, JSON.stringify(held));
  } catch {
    // The scores are too large for the browser to keep; what was said is not.
    sessionStorage.setItem(KEPT, JSON.stringify({ ...held, scores: [], current: -1 }));
  }
};
export const kept = () => {
  try {
    return JSON.parse(sessionStorage.getItem(KEPT));
  } catch {
    return null;
  }
};
