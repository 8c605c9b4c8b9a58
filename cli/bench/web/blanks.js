// Sentences with blanks: a word chosen from a list, or anything else where that is allowed.

import { keepAll, make, score, spokenOf } from "./asking.js";

const OTHER = "\u0000";

export const known = {};

const wordsOf = (blank) => {
  const facts = score()?.facts;
  if (blank.name === "devices") return known.devices.map((each) => [each.first, each.said]);
  if (blank.name === "part" && facts?.parts) {
    return [...blank.words, ...facts.parts.map(({ name }) => [name, name])];
  }
  if (blank.name === "voice" && facts?.parts) {
    const names = [...new Set(facts.parts.flatMap((part) => part.voices))];
    return [...blank.words, ...names.map((name) => [name, `voice ${name}`])];
  }
  if (blank.name === "manner") {
    return [
      ...blank.words,
      ...spokenOf().map(({ name, facts }) => [name, `as the editor of ${facts.title}`]),
    ];
  }
  return blank.words;
};

// What a blank means, and a tiny example in notes of what stands in it.
export const explain = (place, blank, value) => {
  place.replaceChildren(blank.means + (blank.example ? `, as in ${blank.example}` : ""));
  let signs = blank.shown[value];
  if (blank.name === "devices") {
    const device = known.devices.find((each) => each.name === String(value).split(/[:, ]/)[0]);
    place.replaceChildren(device ? `${device.usage}: ${device.summary}` : blank.means);
    signs = device?.signs;
  }
  if (signs) place.append(" ", make("span", { className: "signs", textContent: signs }));
};

// One blank. ``set`` is told what is filled in, and whether it shows that already; ``again`` draws
// the sentence as it was.
const field = (blank, given, means, set, again) => {
  const words = wordsOf(blank);
  const value = String(given ?? blank.usual);
  const control = make("select");
  control.dataset.blank = blank.name;
  control.append(...words.map(([word, said]) => make("option", { value: word, textContent: said })));
  if (!words.some(([word]) => word === value)) {
    control.append(make("option", { value, textContent: value }));
  }
  if (blank.kind === "score") {
    const textContent = "as another editor: lay a score of theirs on the tray";
    if (!spokenOf().length) control.append(make("option", { disabled: true, textContent }));
  } else if (blank.free) {
    control.append(make("option", { value: OTHER, textContent: "something else …" }));
  }
  control.value = value;
  control.setAttribute("aria-label", blank.means);
  control.addEventListener("focus", () => explain(means, blank, control.value));
  control.addEventListener("change", () => {
    if (control.value !== OTHER) {
      explain(means, blank, control.value);
      set(control.value, true);
      return;
    }
    const free = make("input", { value, placeholder: blank.example || "" });
    free.dataset.blank = blank.name;
    free.setAttribute("aria-label", blank.means);
    let done = false;
    const finish = () => {
      if (done) return;
      done = true;
      const text = free.value.trim();
      if (text === value) again();
      else set(text, false);
    };
    free.addEventListener("keydown", (event) => {
      if (event.key === "Enter") finish();
      if (event.key === "Escape") {
        done = true;
        again();
      }
    });
    free.addEventListener("blur", finish);
    control.replaceWith(free);
    free.focus();
    free.select();
  });
  return control;
};

const filled = (text, blanks, values, means, set, again) =>
  text.split(/(\{\w+\})/).map((piece) => {
    const name = piece.match(/^\{(\w+)\}$/)?.[1];
    if (!name) return piece;
    const blank = blanks.find((each) => each.name === name);
    const filledIn = (value, drawn) => set(blank, value, drawn);
    return field(blank, values[name], means, filledIn, again);
  });

// Write a sentence into a place; what is said seldom is folded away until it says something.
export const write = (place, sentence, values, means, set, again) => {
  const fill = (text) => filled(text, sentence.blanks, values, means, set, again);
  place.replaceChildren(...fill(sentence.text));
  if (!sentence.more) return;
  const names = [...sentence.more.matchAll(/\{(\w+)\}/g)].map((each) => each[1]);
  const more = make("details", { open: names.some((name) => name in values) });
  more.append(make("summary", { textContent: "more" }), ...fill(sentence.more));
  place.append(more);
};

// A sentence that stands by itself: its values are kept in ``values`` and ``changed`` is called.
export const standing = (place, means, sentence, values, changed) => {
  const draw = () => {
    const focused = document.activeElement?.dataset?.blank;
    const inside = place.contains(document.activeElement);
    const open = place.querySelector("details")?.open;
    write(place, sentence, values, means, set, draw);
    if (open) place.querySelector("details").open = true;
    if (inside) place.querySelector(`[data-blank="${focused}"]`)?.focus();
  };
  const set = (blank, value, drawn) => {
    if (value === "" || value === blank.usual) delete values[blank.name];
    else values[blank.name] = value;
    if (!drawn) draw();
    keepAll();
    changed?.();
  };
  draw();
  return draw;
};
