// The lesson and the guises: what else is made of the music that stands on the bench.

import { $, ask, carry, make, music, say, state } from "./asking.js";
import { known, standing } from "./blanks.js";
import { addStep, change } from "./chain.js";
import { hearAll, listOf, showOther } from "./stage.js";

// --- in every metre -------------------------------------------------------------------------

let taken = null; // the chain with the sentence of the guise that was taken last

// What the guises are made of: the music without the guise that was taken before.
const theme = () => {
  const last = JSON.stringify(state.chain.at(-1));
  return taken && last === taken ? state.chain.slice(0, -1) : state.chain;
};

const showGuises = async () => {
  say("trying the metres");
  try {
    const chain = theme();
    const body = { ...music(), chain, told: state.guises };
    const found = await (await ask("guises", body)).json();
    const page = make("button", { type: "button", textContent: "Take them as a page" });
    page.addEventListener("click", () => carry("take-guises", body));
    const count = `${found.title} in ${found.steps.length} guises`;
    const [form, list] = listOf(found);
    for (const [index, article] of [...list.querySelectorAll(".guise")].entries()) {
      const take = make("button", { type: "button", textContent: "Take this one" });
      take.setAttribute("aria-label", `Take ${article.querySelector("h3").textContent}`);
      take.addEventListener("click", () => {
        const step = found.steps[index];
        taken = JSON.stringify(step);
        change([...chain, step]);
        $("#chain").scrollIntoView({ block: "nearest" });
      });
      article.querySelector(".hear").after(take);
    }
    showOther(count, found.glyphs, [page], form, list);
    hearAll(found);
    say(`${count}. Hear them, and take one.`);
  } catch (problem) {
    say(problem.message, true);
  }
};

// --- the lesson -----------------------------------------------------------------------------

const wanted = () => ({
  ...music(),
  told: state.lesson,
  plan: state.plan,
  paper: $("#paper").value,
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
