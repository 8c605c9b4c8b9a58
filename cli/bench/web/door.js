// The door: what is taken away, once the proof holds; and the same as text.

import { $, ask, carry, chainText, music, save, say, score, state } from "./asking.js";
import { known, standing } from "./blanks.js";
import { change } from "./chain.js";

const WAIT = 500; // milliseconds without a change before the proof is asked for
let texts = null;
let turn = 0;
let timer = 0;

const drawTexts = () => {
  const found = texts?.[$("#text-of").value];
  $("#command").textContent = found?.command || "add a sentence first";
  $("#python").textContent = found?.python || "add a sentence first";
};

const openDoor = (open, line, wrong = false) => {
  $("#proof").textContent = line;
  $("#proof").classList.toggle("wrong", wrong);
  for (const button of document.querySelectorAll("[data-kind]")) button.disabled = !open;
};

// Say the whole as text, and prove it; the door is open only when the proof holds.
export const follow = async (problem) => {
  if (!score()) return;
  const now = ++turn;
  clearTimeout(timer);
  try {
    const { name, piece, chain } = music();
    const { lesson, guises, midi, page } = state;
    const body = { name, piece, chain, exercises: { ...lesson }, guises, midi, page };
    if (state.plan) body.exercises.plan = "plan.toml";
    if (state.ladder) body.ladder = state.ladder;
    const found = await (await ask("say", body)).json();
    if (now !== turn) return;
    texts = found.texts;
    $("#toml").textContent = found.chain;
    drawTexts();
  } catch (trouble) {
    if (now === turn) say(trouble.message, true);
  }
  $("#keep").disabled = !state.chain.length;
  if (problem) {
    openDoor(false, "The door is closed while a sentence cannot be done.", true);
    return;
  }
  openDoor(false, "Proving what will be written …");
  timer = setTimeout(async () => {
    try {
      await ask("prove", music());
      if (now === turn) openDoor(true, "Written, read back and compared: it holds.");
    } catch (trouble) {
      if (now === turn) openDoor(false, `The door is closed: ${trouble.message}`, true);
    }
  }, WAIT);
};

export const openText = async (text) => {
  try {
    const found = await (await ask("chain", { text })).json();
    change(found.chain);
  } catch (problem) {
    say(problem.message, true);
  }
};

export const openTheDoor = (changed) => {
  standing($("#midi-sentence"), $("#midi-means"), known.made.midi, state.midi, changed);
  standing($("#page-sentence"), $("#page-means"), known.made.page, state.page, changed);
  $("#text-of").addEventListener("change", drawTexts);
  $("#door").addEventListener("click", (event) => {
    const { kind, copy } = event.target.dataset;
    const told = { mid: state.midi, html: state.page }[kind] || {};
    if (kind) carry("take", { ...music(), kind, told, paper: $("#paper").value });
    if (copy) {
      const text = $(`#${copy}`).textContent;
      navigator.clipboard.writeText(text).then(
        () => say("copied"),
        () => say("the browser does not let this page copy: mark the text and copy it", true),
      );
    }
  });
  $("#keep").addEventListener("click", () => save("chain.toml", $("#toml").textContent || chainText()));
  $("#open-chain").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    event.target.value = "";
    if (file) await openText(await file.text());
  });
};
