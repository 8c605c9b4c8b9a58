// The bench: a tray of scores, a chain of sentences, the music before over after, and a door.

import { $, ask, kept, music, notice, say, score, state, stopped } from "./asking.js";
import { known } from "./blanks.js";
import { drawChain, drawTold, openChain, told } from "./chain.js";
import { follow, openText, openTheDoor } from "./door.js";
import { mend, openLesson } from "./lesson.js";
import { closeOther, looked, onNarrow, showRows, showTold } from "./stage.js";
import { choose, openTray, put, whenChosen } from "./tray.js";

let turn = 0;
const refresh = async () => {
  if (!score()) return;
  const now = ++turn;
  say("working");
  try {
    const found = await (await ask("show", { ...music(), ...looked() })).json();
    if (now !== turn) return;
    told.problem = found.problem;
    drawTold();
    showRows(found);
    const heard = await (await ask("tell", music())).json();
    if (now !== turn) return;
    told.lines = heard.lines;
    drawTold();
    showTold(heard);
    const count = heard.music.versions.at(-1).numbers.length;
    const wrong = Boolean(found.problem.step);
    say(
      wrong
        ? `sentence ${found.problem.step} cannot be done; the music stays as it was before it`
        : `${score().facts.title}: ${count} bars`,
      wrong,
    );
    await follow(wrong);
  } catch (problem) {
    if (now === turn) say(problem.message, true);
  }
};

// --- the beginning --------------------------------------------------------------------------

// The first score is read and drawn while what can be said is still on its way.
const asked = fetch("words");
let drawSentences = () => {};
whenChosen(() => {
  closeOther();
  drawSentences();
  refresh();
});
const before = kept();
Object.assign(state, before, { scores: [], current: -1 });
const begin = async () => {
  const { files } = await (await fetch("given")).json();
  for (const [index, name] of files.entries()) {
    const answer = await fetch(`given/${index}`);
    if (answer.ok) await put(name, new Uint8Array(await answer.arrayBuffer()));
    else say(`${name}: ${(await answer.json()).problem}`, true);
    const first = state.scores.findIndex(({ facts }) => !facts.pieces.length);
    if (first >= 0 && state.current < 0) choose(first);
  }
  if (state.scores.length && state.current < 0) say("choose a tune of the book");
};
const begun = before?.scores.length ? null : begin();

const words = await (await asked).json();
known.sentence = Object.fromEntries(words.sentences.map((each) => [each.verb, each]));
known.made = Object.fromEntries(words.made.map((each) => [each.verb, each]));
known.devices = words.devices.map((device) => {
  // An example of the handbook names an argument that works.
  const given = device.example.match(/^[a-z-]+:((?:[^:]|:(?! ))*): /)?.[1];
  const first = given ? `${device.name}:${given}` : device.name;
  return { ...device, first, said: first.replace("-", " ").replace(":", " ") };
});

openChain(refresh);
openTheDoor(() => follow(Boolean(told.problem.step)));
const drawLesson = openLesson(() => follow(Boolean(told.problem.step)));
drawSentences = () => {
  drawLesson(); // its parts and voices are those of this score
  drawChain();
};
openTray({ mend, chain: openText });
onNarrow(refresh);
$("#rows").addEventListener("overfull", refresh); // its rows are laid out anew

// --- other tabs, and a server that has gone -------------------------------------------------

const line = new BroadcastChannel(`bench ${location.pathname}`);
const twice = () =>
  notice("The bench is open in another tab as well. Each keeps its own scores and sentences.");
line.onmessage = ({ data }) => {
  if (data === "new") line.postMessage("here");
  twice();
};
line.postMessage("new");

setInterval(() => fetch("alive", { method: "POST" }).catch(stopped), 15_000);

if (before?.scores.length) {
  state.scores = before.scores;
  choose(Math.max(0, before.current));
}
await begun;
drawSentences();
$("#file").disabled = false;
document.body.classList.add("ready");
