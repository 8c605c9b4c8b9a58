// The threads: thin lines from each note of a bar to its image, both ends labelled.
//
// A strand is {bar, event, signs, place, words, pitch, to: [{event, bar, signs, place, words}],
// why}. A row holds one drawing above and one below; between them is room for the labels.

const SVG = "http://www.w3.org/2000/svg";

export class Threads {
  constructor(strands) {
    this.strands = strands;
    this.byBar = new Map();
    this.byImage = new Map();
    for (const strand of strands) {
      add(this.byBar, strand.bar, strand);
      for (const bar of new Set(strand.to.map((each) => each.bar))) {
        add(this.byImage, bar, strand);
      }
    }
  }

  // The strands that leave a bar of the source, or that come to a bar of the result.
  of(version, bar) {
    return (version === "a" ? this.byBar : this.byImage).get(bar) || [];
  }

  // Draw them in a row, which is told apart by its class; nothing where they lead elsewhere.
  draw(row, strands) {
    this.clear();
    const gap = row.querySelector(".gap");
    if (!gap) return;
    const frame = row.getBoundingClientRect();
    const zone = gap.getBoundingClientRect();
    const canvas = document.createElementNS(SVG, "svg");
    canvas.setAttribute("class", "threads");
    canvas.setAttribute("aria-hidden", "true");
    canvas.setAttribute("viewBox", `0 0 ${frame.width} ${frame.height}`);
    canvas.style.height = `${frame.height}px`;
    const top = zone.top - frame.top;
    const bottom = zone.bottom - frame.top;
    const small = zone.height < 60;
    const size = small ? 34 : 40;
    const taken = [];
    const drawn = new Set();
    const labels = [];
    for (const strand of strands) {
      const above = head(row, strand.event, frame);
      if (!above) continue;
      for (const image of strand.to) {
        const below = head(row, image.event, frame);
        if (!below) continue;
        labels.push([below.x, bottom - size / 2, image, "image"]);
        // What is struck together in several voices goes together.
        const path = `${above.x} ${below.x}`;
        if (drawn.has(path)) continue;
        drawn.add(path);
        const middle = (top + bottom) / 2;
        line(canvas, "lead", `M${above.x} ${above.bottom + 3}V${top + 2}`);
        line(
          canvas,
          "thread",
          `M${above.x} ${top + 2}C${above.x} ${middle} ${below.x} ${middle} ${below.x} ${bottom - 2}`,
        );
        line(canvas, "lead", `M${below.x} ${bottom - 2}V${below.top - 3}`);
      }
      labels.push([above.x, top + size / 2, strand, "origin"]);
    }
    for (const [x, y, value, kind] of labels) label(canvas, taken, x, y, value, kind, size);
    row.append(canvas);
    this.canvas = canvas;
  }

  clear() {
    this.canvas?.remove();
    this.canvas = null;
  }
}

const add = (map, key, value) => {
  if (map.has(key)) map.get(key).push(value);
  else map.set(key, [value]);
};

const head = (row, event, frame) => {
  const named = `[data-event="${event}"]`;
  const note = row.querySelector(`${named} .notehead`) || row.querySelector(named);
  if (!note) return null;
  const box = note.getBoundingClientRect();
  return {
    x: Math.round(box.left + box.width / 2 - frame.left),
    top: box.top - frame.top,
    bottom: box.bottom - frame.top,
  };
};

const line = (canvas, kind, path) => {
  const made = document.createElementNS(SVG, "path");
  made.setAttribute("class", kind);
  made.setAttribute("d", path);
  canvas.append(made);
};

// A label is left out where another one already stands: the sentence says it all.
const label = (canvas, taken, x, y, value, kind, size) => {
  const width = Math.max(16, 7 * value.place.length, 9 * [...value.signs].length) + 4;
  const clash = taken.some(
    (each) => each.kind === kind && Math.abs(each.x - x) < (each.width + width) / 2,
  );
  if (clash) return;
  taken.push({ x, width, kind });
  const group = document.createElementNS(SVG, "g");
  group.setAttribute("class", `label ${kind}`);
  const plate = document.createElementNS(SVG, "rect");
  plate.setAttribute("x", x - width / 2);
  plate.setAttribute("y", y - size / 2);
  plate.setAttribute("width", width);
  plate.setAttribute("height", size);
  plate.setAttribute("rx", 4);
  group.append(plate);
  for (const [text, at, music] of [
    [value.signs, y + 1, true],
    [value.place, y + size / 2 - 5, false],
  ]) {
    const made = document.createElementNS(SVG, "text");
    made.setAttribute("x", x);
    made.setAttribute("y", at);
    if (music) made.setAttribute("class", "music");
    made.textContent = text;
    group.append(made);
  }
  canvas.append(group);
};

// The index of the part that an event belongs to.
export const partOf = (event) => Number(/\d+/.exec(event)[0]);

// What the threads of a bar say, in words; parts are named where there are several.
export const sentence = (strands, number, names) => {
  let last = -1;
  const said = strands.map((strand) => {
    const part = partOf(strand.event);
    const named = names.length > 1 && part !== last ? `${names[part]}: ` : "";
    last = part;
    const from = `${strand.words} ${strand.pitch} on ${strand.place}`;
    if (!strand.to.length) return `${named}${from} has no image`;
    const to = strand.to
      .map((each) => {
        const where = each.bar === strand.to[0].bar ? "" : ` of bar ${number(each.bar)}`;
        return `${each.words} on ${each.place}${where}`;
      })
      .join(", ");
    return `${named}${from} becomes ${to}${strand.why ? ` (${strand.why})` : ""}`;
  });
  return said.join("; ");
};
