// What the page knows: the job, each stage's last result, and what its maker has chosen. Nothing here lasts.

/** @typedef {{revision: number, data: any, problem: any, sheet?: string}} Stage */

export const store = {
  open: false,
  folder: "",
  largest: Infinity,
  recent: /** @type {{id: string, name: string}[]} */ ([]),
  revision: 0,
  job: /** @type {any} */ ({}),
  canUndo: false,
  canRedo: false,
  stages: /** @type {Record<string, Stage>} */ ({}),
  paints: /** @type {any} */ (null),
  picture: "",
  pictured: "",
  sending: false,
  pending: /** @type {{edits: Record<string, any>, revision: number}[]} */ ([]),
  view: "drawing",
  chosen: /** @type {Set<number>} */ (new Set()),
  border: /** @type {string | null} */ (null),
  mode: "areas",
  zoom: 1,
  pass: /** @type {number | null} */ (null),
  follow: /** @type {number | null} */ (null),
  said: "",
  doing: "",
  part: "",
  search: "",
  bottle: /** @type {any} */ (null),
  exchange: /** @type {{revision: number, choices: any[], busy: boolean}} */ ({ revision: 0, choices: [], busy: false }),
  hint: 0,
  sheets: { paper: "a4", detail: "bench", grey: false, pages: 0, revision: 0, file: "", busy: false, made: 0 },
  notice: /** @type {null | {what: string, where?: string, cure?: string, again?: () => void, lost?: boolean}} */ (null),
};

/** @type {Set<() => void>} */
const listeners = new Set();
let waiting = false;

/** @param {() => void} listener */
export const subscribe = (listener) => listeners.add(listener);

/** Something changed: show it once all that changes with it is written down. */
export function changed() {
  if (waiting) return;
  waiting = true;
  queueMicrotask(() => {
    waiting = false;
    for (const listener of listeners) listener();
  });
}

/** @param {string} name */
export const data = (name) => store.stages[name]?.data ?? null;

/** Whether a stage's result is not that of the job as it now stands. @param {string} name */
export const stale = (name) => !store.stages[name] || store.stages[name].revision < store.revision || unsent();

const unsent = () => store.pending.some((p) => p.revision === Infinity);

/** The run: the searched one where it is there for this revision, else the quick one. */
export function run() {
  const [quick, plan] = [store.stages.run, store.stages.plan];
  if (!plan?.data || (quick?.data && quick.revision > plan.revision)) return quick?.data ?? null;
  return plan.data;
}

/** The areas as read, with what was said a moment ago laid over them. */
export function areas() {
  const reading = data("reading");
  if (!reading) return [];
  if (!store.pending.length) return reading.areas;
  const said = new Map();
  for (const { edits } of store.pending) {
    for (const [key, value] of Object.entries(edits)) {
      // What else is edited changes what only the bench can work out.
      const found = /^(\d+)\.(name|target|flags)$/.exec(key);
      if (found) said.set(Number(found[1]), { ...said.get(Number(found[1])), [found[2]]: value });
    }
  }
  return reading.areas.map((a) => {
    const more = said.get(a.id);
    // null takes a key back: until the reading is there, what it showed last stays.
    return more ? { ...a, ...more, target: more.target ?? a.target, flags: more.flags ?? a.flags } : a;
  });
}

/** @param {number} id */
export const area = (id) => areas().find((a) => a.id === id);

/** '12 right pupil'. @param {any} a */
export const called = (a) => (a ? `${a.id} ${a.name || ""}`.trim() : "");

/** @param {number} id */
export function mixOf(id) {
  const painting = data("painting");
  const letter = painting?.areas.find((a) => a.id === id)?.mix;
  return painting?.mixes.find((m) => m.id === letter) ?? null;
}

/** Areas that take a mix. @param {string} letter @returns {number[]} */
export const areasOf = (letter) =>
  (data("painting")?.areas ?? []).filter((a) => a.mix === letter).map((a) => a.id);

/** @param {number} id */
export const passesOf = (id) => (data("painting")?.passes ?? []).filter((p) => p.areas.includes(id));

/** Colours that no mix of the maker's paints comes near. */
export const outOfReach = () => (data("painting")?.mixes ?? []).filter((m) => !m.reachable);

/** How many hints the reading gives that nobody answered. */
export const hintCount = () =>
  Object.values(data("reading")?.offers ?? {}).reduce((n, ids) => n + ids.length, 0);
