// The border of two areas is chosen: how it is treated, which side is laid first.

import { choice, h } from "./dom.js";
import { border } from "./edits.js";
import { answer, letGo } from "./panels.js";
import { area, called, data, store } from "./store.js";
import { TREATS, mm } from "./words.js";

export function ofBorder(key) {
  const [a, b] = key.split("-").map(Number);
  const edge = data("reading")?.edges.find((e) => e.areas.join("-") === key);
  if (!edge) return null;
  const planned = data("painting")?.edges.find((e) => e.areas.join("-") === key);
  const wish = store.job.edges?.[key] ?? {};
  return [
    h("h2", {}, `Border of ${called(area(a))} and ${called(area(b))}`),
    h("p", {}, `${mm(edge.length_mm)} long${edge.soft ? ", drawn softly" : ""}.`),
    answer(
      "painting",
      planned && h("p", {}, `Planned: ${TREATS[planned.treat] ?? planned.treat}; ${called(area(planned.first))} first.`),
      planned && h("p", { class: "quiet" }, `${planned.why}.`),
    ),
    choice({
      key: "treat",
      label: "How to treat it",
      value: wish.treat ?? "",
      options: [["", "as the plan has it"], ...Object.entries(TREATS)],
      done: (v) => border(key, "treat", v || null),
    }),
    choice({
      key: "first",
      label: "Which to lay first",
      value: String(wish.first ?? ""),
      options: [["", "as the plan has it"], ...[a, b].map((id) => [String(id), called(area(id))])],
      done: (v) => border(key, "first", v ? Number(v) : null),
    }),
    letGo(),
  ];
}
