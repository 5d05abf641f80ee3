// The drawing: what is chosen on it, and what can be said of that.

import { button, h } from "./dom.js";
import { ofBorder } from "./drawn_border.js";
import { ofOne, ofSeveral } from "./drawn_area.js";
import { ofFigure } from "./drawn_figure.js";
import { area, changed, store } from "./store.js";

export function beside() {
  if (store.border) return ofBorder(store.border) ?? ofFigure();
  // A correction may just have taken a chosen area out of the drawing.
  const ids = [...store.chosen].filter((id) => area(id));
  if (ids.length === 1) return ofOne(area(ids[0]));
  if (ids.length > 1) return ofSeveral(ids);
  return ofFigure();
}

/** What a tap or a drag does. */
export function hands() {
  const modes = { areas: ["Choose ", "areas"], loop: ["Draw a ", "loop"], borders: ["Choose ", "borders"], split: ["Split by a ", "stroke"] };
  return h(
    "div",
    { class: "hands" },
    h(
      "div",
      { role: "radiogroup", "aria-label": "What the pointer does on the drawing", class: "row" },
      Object.entries(modes).map(([mode, [verb, what]]) =>
        h(
          "label",
          { class: "way" },
          h("input", {
            type: "radio",
            name: "mode",
            value: mode,
            checked: store.mode === mode,
            "data-key": `mode-${mode}`,
            onchange: () => {
              store.mode = mode;
              changed();
            },
          }),
          h("span", {}, h("span", { class: "verb" }, verb), h("span", { class: "what" }, what)),
        ),
      ),
    ),
    h(
      "div",
      { class: "row", role: "group", "aria-label": "Size of the drawing" },
      button("Smaller", () => zoom(1 / 1.5), { disabled: store.zoom <= 1 }),
      button("Larger", () => zoom(1.5), { disabled: store.zoom >= 8 }),
    ),
  );
}

function zoom(by) {
  store.zoom = Math.min(8, Math.max(1, store.zoom * by));
  changed();
}
