// Talking to the bench's server: one edit at a time, each made on the newest job; news of results as they come.

import * as picture from "./picture.js";
import { changed, store } from "./store.js";

export class Problem extends Error {
  /** @param {{what: string, where?: string, cure?: string}} said @param {number} status */
  constructor(said, status) {
    super(said.what);
    this.said = said;
    this.status = status;
  }
}

/**
 * @param {string} path
 * @param {RequestInit} [how]
 * @returns {Promise<Response>}
 */
async function asked(path, how = {}) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "same-origin", ...how });
  } catch {
    lost();
    throw new Problem({ what: "The bench does not answer" }, 0);
  }
  if (answer.ok || answer.status === 409 || answer.status === 304) return answer;
  const said = (await answer.json().catch(() => null))?.problem;
  throw new Problem(said ?? { what: `The bench answered with an error (${answer.status})` }, answer.status);
}

function lost() {
  store.notice = {
    what: "The bench does not answer: its terminal was closed, or it ended",
    cure: "start finishplan bench again and open the address it prints. Your last change may be missing; all before it is in the job file.",
    lost: true,
  };
  changed();
}

/** Show an error in its place. @param {unknown} error */
export function tell(error) {
  // That the bench is gone has been told already.
  if (error instanceof Problem && error.status === 0) return;
  store.notice = error instanceof Problem ? error.said : { what: String(error) };
  changed();
}

/** @param {string} path @param {any} body */
export const post = (path, body = {}) =>
  asked(path, { method: "POST", body: JSON.stringify(body), headers: { "content-type": "application/json" } });

/** @param {string} path */
export const get = (path) => asked(path).then((answer) => answer.json());

/** @param {any} state */
function take(state) {
  // Answers may overtake each other: an older one tells nothing new.
  if (state.revision < store.revision) return;
  store.revision = state.revision;
  if (Object.keys(state.job).length) store.job = state.job; // of one that was spoilt by hand nothing is known
  store.canUndo = state.can_undo;
  store.canRedo = state.can_redo;
}

/** What is on the bench, and every result that is newer than ours. */
export async function refresh() {
  const state = await get("/api/state");
  store.open = state.open;
  store.folder = state.folder;
  store.recent = state.recent ?? [];
  store.largest = state.largest;
  // It answers again.
  if (store.notice?.lost) store.notice = null;
  if (state.open) {
    take(state);
    const behind = Object.entries(state.stages).filter(([n, r]) => (store.stages[n]?.revision ?? 0) < r);
    await Promise.all(behind.map(([name]) => stage(name)));
  }
  changed();
}

/** Another figure lies on the bench: forget this one. */
export async function anew() {
  Object.assign(store, { revision: 0, job: {}, stages: {}, paints: null, pending: [], border: null, pass: null, follow: null, said: "", doing: "" });
  store.part = "";
  store.sheets.pages = 0;
  store.chosen.clear();
  // The picture just sent from this window stays in sight while it is read.
  if (store.pictured !== "own") picture.none();
  await refresh();
  if (!store.open) picture.none();
  else if (!store.pictured && !store.stages.reading) picture.fetched("unread");
}

/** @param {string} name */
async function stage(name) {
  const answer = await asked(`/api/stage/${name}`);
  if (answer.status !== 200) return;
  const found = await answer.json();
  const before = store.stages[name];
  if (before && before.revision > found.revision) return;
  // what a problem left unanswered stays in sight, marked as of before
  const sheet = found.data && name === "reading" ? picture.sheetOf(found.data, store.job) : before?.sheet;
  store.stages[name] = { ...found, data: found.data ?? before?.data ?? null, sheet };
  if (name === "reading") {
    store.doing = "";
    // What this reading already shows need not be laid over it any more.
    store.pending = store.pending.filter((p) => p.revision > found.revision);
    if (found.data) {
      picture.fetched(sheet);
      const there = new Set(found.data.areas.map((a) => a.id));
      for (const id of store.chosen) if (!there.has(id)) store.chosen.delete(id);
    }
  }
  changed();
  if (name === "painting") store.paints = await get("/api/paints").catch(() => store.paints);
}

let queue = Promise.resolve();

/**
 * Set keys of the job, as `finishplan set` does. Shown at once, sent in turn, taken back where the bench refuses.
 * @param {Record<string, any>} edits
 */
export function edit(edits) {
  const waiting = { edits, revision: Infinity };
  store.pending.push(waiting);
  store.notice = null;
  changed();
  // One after the other: each is made on the revision that the one before gave.
  queue = queue.then(async () => void (await written("/api/edit", { edits }, waiting)));
  return queue;
}

/** Say something of the paints. Whether it was taken. @param {any} said @returns {Promise<boolean>} */
export function sendBox(said) {
  store.notice = null;
  const done = queue.then(() => written("/api/box", said, null));
  queue = done.then(async (taken) => {
    if (taken) return;
    store.paints = await get("/api/paints").catch(() => store.paints);
    changed();
  });
  return done;
}

/** @param {"undo" | "redo"} which */
export function step(which) {
  queue = queue.then(async () => {
    if (which === "undo" ? store.canUndo : store.canRedo) await written(`/api/${which}`, {}, null);
  });
  return queue;
}

async function written(path, body, waiting) {
  try {
    const answer = await asked(path, {
      method: "POST",
      body: JSON.stringify(body),
      headers: { "content-type": "application/json", "if-match": `"${store.revision}"` },
    });
    const state = await answer.json();
    if (answer.status === 409) {
      forget(waiting);
      take(state);
      store.notice = {
        what: "The job was changed elsewhere, in another window or by hand; your last change was not made",
        cure: "look at the newer job, which you see now, and make your change again if you still want it",
        again: waiting ? () => edit(waiting.edits) : undefined,
      };
      await refresh();
      return false;
    }
    // Laid over the drawing until a reading of that revision is there.
    if (waiting) waiting.revision = state.revision;
    take(state);
    changed();
    return true;
  } catch (error) {
    forget(waiting);
    tell(error);
    return false;
  }
}

const forget = (waiting) => (store.pending = store.pending.filter((p) => p !== waiting));

/** Hear of new results as they come; ask for all that was missed after a pause. */
export function listen() {
  const source = new EventSource("/api/events");
  source.addEventListener("open", () => refresh().catch(tell));
  source.addEventListener("stage", (event) => heard(event.data).catch(tell));
  source.addEventListener("error", () => {
    refresh().catch(() => {}); // says so where the bench is gone
    // A broken line it mends by itself, a refused one not.
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, 3000);
  });
}

/** @param {string} name */
async function heard(name) {
  if (name === "figure") return anew();
  if (name === "job") return refresh();
  if (name.startsWith("doing ")) {
    store.doing = name.slice(6);
    return changed();
  }
  await stage(name);
  changed();
}

/** Send a picture. @param {Blob & {name?: string}} picture @param {boolean} redraw */
export async function send(picture, redraw = false) {
  if (picture.size > store.largest) {
    const much = `it has ${Math.round(picture.size / 1e6)} MB, more than ${store.largest / 1e6} MB`;
    throw new Problem({ what: much, where: "your picture", cure: "save it smaller" }, 413);
  }
  const name = encodeURIComponent((picture.name ?? "").replace(/\.[^.]*$/, ""));
  await asked(redraw ? "/api/drawing?redraw=1" : `/api/drawing?name=${name}`, { method: "POST", body: picture });
}

/** Save a file of the plan. @param {string} path @param {string} name */
export async function save(path, name) {
  const blob = await (await asked(path)).blob();
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  // Not at once: the browser may still be writing the file.
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}
