// Moving a pass: what the rules say against it at once, and the maker's wish as keys of the job.

import { own } from "./edits.js";
import { edit } from "./server.js";
import { area, called, changed, data, stale, store } from "./store.js";

const OWN_COLOUR = new Set(["colour", "dot", "blend"]);

/** The largest area that gets its own colour in a pass, by which the pass is wished elsewhere. @param {any} pass */
export function chief(pass) {
  const ids = pass.work.filter((w) => OWN_COLOUR.has(w.kind) && !w.mix).map((w) => w.area);
  return ids.sort((a, b) => (area(b)?.cm2 ?? 0) - (area(a)?.cm2 ?? 0))[0] ?? null;
}

/**
 * What forbids that pass `no` comes to stand in the place of pass `to`, '' where nothing is known that does.
 * @param {number} no
 * @param {number} to
 */
export function barred(no, to) {
  const { passes, edges } = data("painting");
  const pass = passes[no - 1];
  if (to < 1 || to > passes.length) return to < 1 ? "It is the first pass already." : "It is the last pass already.";
  if (chief(pass) === null) return "Undercoats and touched-up lines go where the colours that need them are.";
  // In the order in which they are met: the first that stands in the way is told.
  for (const other of passed(no, to)) {
    const [first, second] = to < no ? [other, pass] : [pass, other];
    if (other.mix === pass.mix) return `Pass ${other.no} lays the same mix: one of the two waits for other colours.`;
    // A tie, or a wish of the maker's own, is no rule: it may be overruled.
    const edge = edges.find(
      (e) => e.pass_no === second.no && !["tie", "before"].includes(e.rule) && first.areas.includes(e.first) && second.areas.includes(e.second),
    );
    if (edge) return `Not ${to < no ? "before" : "after"} pass ${other.no}: ${edge.why}.`;
    const bed = first.work.find((w) => w.kind === "undercoat" && second.areas.includes(w.area));
    if (bed) return `Pass ${first.no} lays the undercoat of ${called(area(bed.area))}.`;
  }
  return "";
}

/** The passes that one leaves behind on its way, in their order. */
const passed = (no, to) => {
  const passes = data("painting").passes;
  return to < no ? passes.slice(to - 1, no - 1) : passes.slice(no, to);
};

/** Have pass `no` stand in the place of pass `to`, or say why not. @param {number} no @param {number} to */
export function move(no, to) {
  if (no === to) return;
  store.said = stale("painting") ? "The order is being worked out: wait until it stands." : barred(no, to);
  if (!store.said) {
    store.follow = chief(data("painting").passes[no - 1]);
    edit(wished(no, to));
  }
  changed();
}

/** The job's keys for pass `no` in the place of pass `to`: before those that it passes, after the one then before it, or
 * the other way round. Wishes that the passes so moved would break go. */
function wished(no, to) {
  const passes = data("painting").passes;
  const pass = passes[no - 1];
  const then = passes.filter((p) => p !== pass).toSpliced(to - 1, 0, pass);
  const place = new Map(then.flatMap((p, i) => laid(p).map((id) => [id, i])));
  const held = new Map(Object.entries(store.job.areas).map(([id, a]) => [Number(id), a.before]));
  const kept = new Map();
  for (const [id, others] of held) kept.set(id, new Set(others.filter((b) => !(place.get(id) > place.get(b)))));
  const [sooner, beyond] = [to < no, to < no ? then.slice(0, to - 1).reverse() : then.slice(to)];
  // Without a wish on the far side too the order would be free to let the pass go on.
  const pin = beyond.find((p) => chief(p) !== null && p.mix !== pass.mix);
  const pairs = passed(no, to).map((p) => (sooner ? [pass, p] : [p, pass]));
  if (pin) pairs.push(sooner ? [pin, pass] : [pass, pin]);
  for (const [first, second] of pairs) {
    const [a, b] = [chief(first), chief(second)];
    if (a !== null && b !== null) kept.set(a, (kept.get(a) ?? new Set()).add(b));
  }
  const unlike = [...kept].filter(([id, set]) => String([...set]) !== String(held.get(id) ?? []));
  return Object.fromEntries(unlike.map(([id, set]) => [`${id}.before`, set.size ? [...set] : null]));
}

/** Areas that get their own colour in a pass. */
const laid = (pass) => pass.work.filter((w) => OWN_COLOUR.has(w.kind)).map((w) => w.area);

/** Take wishes back. @param {{first: number, second: number}[]} wishes */
export function unwish(wishes) {
  /** @type {Record<string, any>} */
  const edits = {};
  for (const { first, second } of wishes) {
    // Several wishes of one area are taken off the same list.
    const left = (edits[`${first}.before`] ?? own(first).before ?? []).filter((id) => id !== second);
    edits[`${first}.before`] = left;
  }
  for (const [key, left] of Object.entries(edits)) if (!left.length) edits[key] = null;
  store.said = "";
  edit(edits);
}

/** Drag a pass by its grip, by mouse or finger. @param {PointerEvent} event @param {number} no */
export function drag(event, no) {
  if (event.button !== 0) return;
  event.preventDefault();
  const rows = () => [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(".passes [data-pass]"))];
  let to = no;
  const show = () => {
    for (const row of rows()) {
      const here = Number(row.dataset.pass) === to && to !== no;
      row.classList.toggle("dragged", Number(row.dataset.pass) === no);
      row.classList.toggle("to", here);
      row.classList.toggle("after", here && to > no);
      row.classList.toggle("barred", here && barred(no, to) !== "");
    }
    const said = document.getElementById("order-said");
    if (said) said.textContent = to === no ? "" : barred(no, to) || `To the place of pass ${to}.`;
  };
  const moved = (/** @type {PointerEvent} */ e) => {
    // The last row that begins above the pointer; above them all, the first.
    const under = rows().filter((row) => row.getBoundingClientRect().top <= e.clientY).at(-1) ?? rows()[0];
    to = Number(under?.dataset.pass ?? no);
    show();
  };
  const end = (/** @type {PointerEvent | KeyboardEvent} */ e) => {
    if (e instanceof KeyboardEvent && e.key !== "Escape") return;
    for (const [name, heard] of HEARD) removeEventListener(name, heard);
    // Escape, or a finger that the browser takes for scrolling, leaves it where it was.
    const target = e.type === "pointerup" ? to : no;
    to = no;
    for (const row of rows()) row.classList.remove("dragged", "to", "after", "barred");
    if (target === no) {
      store.said = "";
      changed();
    } else move(no, target);
  };
  /** @type {[string, any][]} */
  const HEARD = [["pointermove", moved], ["pointerup", end], ["pointercancel", end], ["keydown", end]];
  // On the window: the rows may be drawn anew under the pointer.
  for (const [name, heard] of HEARD) addEventListener(name, heard);
}
