// The gallery: every guise can be heard alone, or all of them one after the other.

import { Ear } from "./ear.js";

// Put the ear to work on the articles of a gallery and its form; gives a way to hush it, and to add
// entries, which go into the same list.
export const openGallery = (root, entries) => {
  const ear = new Ear(Object.fromEntries(entries.map((each) => [each.prefix, each.performance])));
  const controls = root.querySelector("form.ear");
  const list = root.querySelector(".gallery");
  const article = (prefix) => list.querySelector(`[data-version="${prefix}"]`);
  let alone = "";

  const whole = ({ prefix, performance }) => ({
    version: prefix,
    from: 0,
    to: Math.max(0, ...performance.bars.map((bar) => bar[2])),
  });
  const set = () => ({
    speed: Number(controls.elements.speed.value) / 100,
    volume: Number(controls.elements.volume.value) / 100,
  });

  controls.onsubmit = (event) => {
    event.preventDefault();
    if (ear.playing) {
      ear.stop();
      return;
    }
    alone = "";
    ear.play(entries.map(whole));
  };
  list.onclick = (event) => {
    const button = event.target.closest(".hear");
    if (!button) return;
    const prefix = button.closest("[data-version]").dataset.version;
    const again = ear.playing && alone === prefix;
    ear.stop();
    if (again) return;
    alone = prefix;
    ear.play([whole(entries.find((each) => each.prefix === prefix))]);
  };
  controls.oninput = () => ear.change(set());
  ear.onstate = (playing) => {
    controls.elements.play.textContent = playing ? "Stop" : "Play all";
    controls.elements.play.setAttribute("aria-pressed", playing);
    for (const each of list.querySelectorAll(".hear")) each.textContent = "Play";
    if (playing && alone) article(alone).querySelector(".hear").textContent = "Stop";
    for (const each of list.querySelectorAll(".sounding")) each.classList.remove("sounding");
  };
  ear.onbar = (prefix) => {
    const now = article(prefix);
    if (!now || now.classList.contains("sounding")) return;
    for (const each of list.querySelectorAll(".sounding")) each.classList.remove("sounding");
    now.classList.add("sounding");
    now.scrollIntoView({ block: "nearest" });
  };
  let lit = [];
  ear.onlight = (names) => {
    for (const note of lit) note.classList.remove("lit");
    lit = [...names].flatMap((name) => [...list.querySelectorAll(`[data-event="${name}"]`)]);
    for (const note of lit) note.classList.add("lit");
  };
  ear.change(set());
  const add = (more) => {
    entries.push(...more);
    for (const each of more) ear.performances[each.prefix] = each.performance;
  };
  return { stop: () => ear.stop(), add };
};

const listed = document.querySelector("#gallery[type]");
if (listed) {
  openGallery(document.body, JSON.parse(listed.textContent));
  document.body.classList.add("ready");
}
