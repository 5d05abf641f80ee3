// Nothing is chosen on the drawing: the figure as a whole, what the reading suggests, what was left out.

import { button, choice, field, h, number, swatch } from "./dom.js";
import { accept, takeBack } from "./edits.js";
import { answer, block, chip, choose, fold, notes } from "./panels.js";
import { edit, post, send, tell } from "./server.js";
import { area, areas, called, data, hintCount, store } from "./store.js";
import { counted, listed } from "./words.js";

const KINDS = { dots: "Specks to set on top", recesses: "Hollows to paint first", shades: "Soft shades", gaps: "Perhaps gaps, as white as the paper" };

export function ofFigure() {
  const reading = data("reading");
  // The problem itself stands under the head.
  if (!reading && store.stages.reading?.problem) return [h("h2", {}, "The drawing cannot be read"), away("Another figure")];
  if (!reading) return [h("h2", {}, "Reading the drawing"), answer("reading"), away("Stop")];
  const figure = store.job.figure ?? {};
  return [
    h("h2", {}, `${counted(reading.areas.length, "area")} on ${counted(reading.parts.length, "part")}`),
    h("p", { class: "quiet" }, "Tap an area to name it or to say what it is. Shift or a loop takes several."),
    answer("reading", offered(reading)),
    block(
      "The figure",
      field({ key: "figure-name", label: "Name", value: figure.name ?? "", done: (v) => edit({ "figure.name": v || null }) }),
      field({
        key: "figure-height",
        label: "Height in mm",
        value: String(figure.height_mm ?? ""),
        placeholder: "80 if left empty",
        inputmode: "decimal",
        done: (v) => edit({ "figure.height_mm": number(v) }),
      }),
      choice({
        key: "figure-finish",
        label: "Varnish",
        value: figure.finish,
        options: ["matt", "satin", "gloss"].map((v) => [v, v]),
        done: (v) => edit({ "figure.finish": v }),
      }),
    ),
    leftOut(reading),
    fold("areas", "All areas", h("div", { class: "chips" }, areas().map((a) => chip(a.id)))),
    reading.notes.length > 0 && fold("reading-notes", `${counted(reading.notes.length, "note")} on the drawing`, notes(reading.notes)),
    redraw(),
    h("p", { class: "quiet path" }, `All lies in ${store.folder}`),
    away("Another figure"),
  ];
}

/** Back to the empty bench; the figure's folder stays. @param {string} said */
const away = (said) => h("p", {}, button(said, () => post("/api/close").catch(tell), { "data-key": "close" }));

function offered(reading) {
  const kinds = Object.entries(reading.offers);
  if (!kinds.length) return null;
  return block(
    `The drawing suggests (${counted(hintCount(), "hint")})`,
    kinds.map(([word, ids]) =>
      h(
        "div",
        { class: "offer" },
        h("p", {}, `${KINDS[word]}: ${listed(ids.map((id) => called(area(id))))}`),
        h(
          "div",
          { class: "row" },
          button(ids.length > 1 ? `Take all ${ids.length}` : "Take it", () => accept(word), { "data-key": `take-${word}` }),
          button("Show them", () => choose(ids), { "data-key": `show-${word}` }),
        ),
      ),
    ),
  );
}

function leftOut(reading) {
  return (
    reading.gone.length > 0 &&
    fold(
      "gone",
      `${reading.gone.length} left out`,
      reading.gone.map((g) =>
        h(
          "div",
          { class: "row" },
          swatch(g.hex, `${g.id} ${g.name}: ${g.how}${g.into ? ` with ${g.into}` : ""}`),
          button("Take back", () => takeBack(g), { "data-key": `back-${g.id}`, "aria-label": `Take area ${g.id} back` }),
        ),
      ),
    )
  );
}

function redraw() {
  const id = "redraw";
  return h(
    "div",
    { class: "field" },
    h("label", { for: id }, "A changed drawing of this figure"),
    h("input", {
      id,
      type: "file",
      accept: "image/*,.ora",
      "data-key": id,
      onchange: (event) => event.target.files[0] && send(event.target.files[0], true).catch(tell),
    }),
  );
}
