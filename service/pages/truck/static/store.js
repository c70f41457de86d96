// What waits on this phone: readings, notes and photos, in the order in which they were entered.
// An entry is kept until the office has answered for it, and 72 hours more so that it can be shown.

export const KEEP_MS = 72 * 3600 * 1000;
const NAME = "endswitch-truck";

let opened = null;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => { opened = null; reject(asked.error); };
  });
  return opened;
}

async function inStore(mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const act = db.transaction("entries", mode, { durability: "strict" });
    const request = work(act.objectStore("entries"));
    act.oncomplete = () => resolve(request?.result);
    act.onerror = () => reject(act.error);
    act.onabort = () => reject(act.error);
  });
}

export async function add(entry) {
  const made = {
    id: crypto.randomUUID(),
    entered_at: new Date().toISOString(),
    state: "waiting",
    ...entry,
  };
  await inStore("readwrite", (store) => store.add(made));
  return made;
}

export async function all() {
  return inStore("readonly", (store) => store.getAll());
}

export async function waiting() {
  return (await all()).filter((entry) => entry.state === "waiting");
}

export async function ofTicket(ticket) {
  return (await all()).filter((entry) => entry.ticket === ticket);
}

// The picture of a photo is dropped once it has arrived.
export async function answered(entry, answer) {
  const { picture, ...rest } = entry;
  const done = { ...rest, state: answer.state, says: answer.says, at: Date.now(), now: answer.ticket };
  await inStore("readwrite", (store) => store.put(done));
}

export async function forgetOld() {
  const now = Date.now();
  const old = (await all()).filter((e) => e.state !== "waiting" && now - e.at > KEEP_MS);
  for (const entry of old) await inStore("readwrite", (store) => store.delete(entry.seq));
}
