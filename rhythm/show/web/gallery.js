// The gallery: every guise can be heard alone, or all of them one after the other.

import { Ear } from "./ear.js";

const entries = JSON.parse(document.querySelector("#gallery").textContent);
const ear = new Ear(Object.fromEntries(entries.map((each) => [each.prefix, each.performance])));
const controls = document.querySelector("#ear");
const main = document.querySelector("#rows");
const article = (prefix) => main.querySelector(`[data-version="${prefix}"]`);
let alone = "";

const whole = ({ prefix, performance }) => ({
  version: prefix,
  from: 0,
  to: Math.max(0, ...performance.bars.map((bar) => bar[2])),
});

controls.addEventListener("submit", (event) => {
  event.preventDefault();
  if (ear.playing) {
    ear.stop();
    return;
  }
  alone = "";
  ear.play(entries.map(whole));
});
main.addEventListener("click", (event) => {
  const button = event.target.closest(".hear");
  if (!button) return;
  const prefix = button.closest("[data-version]").dataset.version;
  const again = ear.playing && alone === prefix;
  ear.stop();
  if (again) return;
  alone = prefix;
  ear.play([whole(entries.find((each) => each.prefix === prefix))]);
});
controls.addEventListener("input", () => {
  ear.change({
    speed: Number(controls.elements.speed.value) / 100,
    volume: Number(controls.elements.volume.value) / 100,
  });
});
ear.onstate = (playing) => {
  controls.elements.play.textContent = playing ? "Stop" : "Play all";
  controls.elements.play.setAttribute("aria-pressed", playing);
  for (const each of main.querySelectorAll(".sounding")) each.classList.remove("sounding");
};
ear.onbar = (prefix) => {
  const now = article(prefix);
  if (!now || now.classList.contains("sounding")) return;
  for (const each of main.querySelectorAll(".sounding")) each.classList.remove("sounding");
  now.classList.add("sounding");
  now.scrollIntoView({ block: "nearest" });
};
let lit = [];
ear.onlight = (names) => {
  for (const note of lit) note.classList.remove("lit");
  lit = [...names].flatMap((name) => [...main.querySelectorAll(`[data-event="${name}"]`)]);
  for (const note of lit) note.classList.add("lit");
};
document.body.classList.add("ready");
