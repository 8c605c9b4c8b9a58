// The strip: one mark a bar, told apart by shape and word; each leads to its bar.
//
// A bar is [number, metre, sum, verdict, changed, says].

const SHAPES = {
  right: '<circle cx="8" cy="8" r="4.5"/>',
  moved: '<path d="M8 2.5 13.5 13H2.5Z"/>',
  together: '<path d="M8 1.5 14.5 8 8 14.5 1.5 8Z"/>',
  fault: '<path d="M3 3 13 13M13 3 3 13" class="cross"/>',
};

export const shape = (verdict) =>
  `<svg viewBox="0 0 16 16" class="shape ${verdict}" aria-hidden="true">${SHAPES[verdict]}</svg>`;

export const drawStrip = (list, legend, bars, words, go) => {
  const counts = {};
  const items = bars.map(([number, metre, sum, verdict, changed, says], index) => {
    counts[verdict] = (counts[verdict] || 0) + 1;
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.className = changed ? "changed" : "";
    button.title = `bar ${number}, ${metre || "no metre"}: ${says}`;
    button.setAttribute(
      "aria-label",
      `bar ${number}, holds ${sum}: ${says}${changed ? ", changed" : ", as it was"}`,
    );
    button.innerHTML = `${shape(verdict)}<span aria-hidden="true"></span>`;
    button.lastElementChild.textContent = number;
    button.addEventListener("click", () => go(index));
    item.append(button);
    return item;
  });
  list.replaceChildren(...items);
  legend.replaceChildren(
    ...Object.keys(SHAPES)
      .filter((verdict) => counts[verdict])
      .map((verdict) => {
        const entry = document.createElement("span");
        entry.innerHTML = `${shape(verdict)}<span></span>`;
        entry.lastElementChild.textContent = `${words[verdict]}: ${counts[verdict]}`;
        return entry;
      }),
  );
};
