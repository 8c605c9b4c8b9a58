// The lesson and the guises: what else is made of the music that stands on the bench.

import { $, ask, carry, keepAll, make, music, say, state } from "./asking.js";
import { known, standing } from "./blanks.js";
import { addStep, change } from "./chain.js";
import { hearAll, keepGlyphs, listOf, showOther } from "./stage.js";

// --- in every metre -------------------------------------------------------------------------

let taken = null; // the chain with the sentence of the guise that was taken last

// What the guises are made of: the music without the guise that was taken before.
const theme = () => {
  const last = JSON.stringify(state.chain.at(-1));
  return taken && last === taken ? state.chain.slice(0, -1) : state.chain;
};

let trying = 0;

// The first guises stand there at once; the others follow until all are tried or it is stopped.
const showGuises = async () => {
  const now = ++trying;
  const chain = theme();
  const body = { ...music(), chain, told: { ...state.guises } };
  const page = make("button", { type: "button", textContent: "Take them as a page" });
  page.addEventListener("click", () => carry("take-guises", body));
  const stop = make("button", { type: "button", textContent: "That is enough" });
  const steps = [];
  let list = null;
  let gallery = null;
  stop.addEventListener("click", () => {
    trying += 1;
    ended("the others were not tried");
  });
  const ended = (more) => {
    stop.remove();
    const count = `${steps.length} guises`;
    if (list) $("#other h2").textContent = `${$("#title").textContent} in ${count}`;
    say(`${count}${more ? `; ${more}` : ""}. Hear them, and take one.`);
  };
  const take = (article, step) => {
    const button = make("button", { type: "button", textContent: "Take this one" });
    button.setAttribute("aria-label", `Take ${article.querySelector("h3").textContent}`);
    button.addEventListener("click", () => {
      taken = JSON.stringify(step);
      change([...chain, step]);
      $("#chain").scrollIntoView({ block: "nearest" });
    });
    article.querySelector(".hear").after(button);
  };
  const add = (found) => {
    steps.push(...found.steps);
    if (!list) {
      const [form, place] = listOf({ html: "" });
      list = place;
      showOther(`${found.title} in every metre`, found.glyphs, [page, stop], form, list);
      gallery = hearAll({ entries: [] }, () => (trying += trying === now));
    }
    keepGlyphs(found.glyphs);
    const more = make("div", { innerHTML: found.html });
    [...more.querySelectorAll(".guise")].forEach((article, at) => take(article, found.steps[at]));
    list.append(...more.children);
    gallery.add(found.entries);
  };
  say("trying the metres");
  let so_far = {};
  try {
    for (;;) {
      const found = await (await ask("guises", { ...body, so_far })).json();
      if (now !== trying) return;
      add(found);
      so_far = found.so_far;
      if (found.ended) break;
      say(`${steps.length} guises so far; ${so_far.next} of ${found.ways} ways tried`);
    }
    ended();
  } catch (problem) {
    if (now === trying) say(problem.message, true);
    stop.remove();
  }
};

// --- the lesson -----------------------------------------------------------------------------

const wanted = () => ({
  ...music(),
  told: state.lesson,
  plan: state.plan,
  paper: $("#paper").value,
  ladder: $("#ladder").value,
});

const pages = (drawings, head, name) => {
  const section = make("section", { className: "sheets" }, make("h2", { textContent: head }));
  section.append(
    ...drawings.map((png, index) =>
      make("img", {
        src: `data:image/png;base64,${png}`,
        alt: `${name}, page ${index + 1} of ${drawings.length}`,
      }),
    ),
  );
  return section;
};

const showLesson = async () => {
  say("making the sheet");
  try {
    const found = await (await ask("lesson", wanted())).json();
    const [form, list] = listOf(found);
    const print = make("button", { type: "button", textContent: "Print" });
    print.addEventListener("click", () => window.print());
    const left = found.notes.map((line) => make("li", { textContent: line }));
    showOther(
      found.title,
      found.glyphs,
      [print],
      make("p", { textContent: found.size }),
      make("ul", { className: "lines" }, ...left),
      pages(found.pupil, "The pupil’s sheet", "The pupil’s sheet"),
      pages(found.key, "The teacher’s key", "The teacher’s key"),
      make("h2", { textContent: "To hear" }),
      form,
      list,
    );
    hearAll(found);
    $("#lesson-said").textContent = found.size;
    say(`${found.title}: ${found.size}`);
  } catch (problem) {
    say(problem.message, true);
  }
};

export const openLesson = (changed) => {
  $("#metres").addEventListener("click", showGuises);
  standing($("#guises-sentence"), $("#guises-means"), known.made.guises, state.guises, changed);
  const draw = standing(
    $("#lesson-sentence"), $("#lesson-means"), known.made.exercises, state.lesson, changed,
  );
  $("#ladder").value = state.ladder || $("#ladder").value;
  $("#ladder").addEventListener("change", () => {
    state.ladder = $("#ladder").value;
    keepAll();
    changed();
  });
  $("#make-lesson").addEventListener("click", showLesson);
  $("#lesson").addEventListener("click", (event) => {
    const what = event.target.dataset.lesson;
    if (what) carry("take-lesson", { ...wanted(), what });
  });
  $("#plan").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    event.target.value = "";
    state.plan = file ? await file.text() : "";
    const drop = make("button", { type: "button", textContent: "without it" });
    drop.addEventListener("click", () => {
      state.plan = "";
      $("#plan-said").replaceChildren();
      changed();
    });
    $("#plan-said").replaceChildren(`${file?.name || ""} `, drop);
    changed();
  });
  return draw;
};

export const mend = () => addStep("mend");
