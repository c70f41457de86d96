// What waits on this phone: readings, notes and photos, in the order in which they were entered.
// An entry is kept until the office has answered for it, and 72 hours more so that it can be shown. It
// belongs to whoever entered it: nobody else who signs in on this phone sees it or sends it.

export const KEEP_MS = 72 * 3600 * 1000;
const NAME = "endswitch-truck";

const KEEPER = /(?:^|; )endswitch-keeper=([0-9a-f]+)/;

let opened = null;

// A word for whoever signed in here last; empty where there is no page, as in the service worker.
function keeperHere() {
  return KEEPER.exec(globalThis.document?.cookie ?? "")?.[1] ?? "";
}

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
    keeper: keeperHere(),
    ...entry,
  };
  await inStore("readwrite", (store) => store.add(made));
  return made;
}

async function everybodys() {
  return inStore("readonly", (store) => store.getAll());
}

export async function all() {
  const here = keeperHere();
  return (await everybodys()).filter(({ keeper }) => !keeper || !here || keeper === here);
}

const isWaiting = (entry) => entry.state === "waiting";

export async function waiting() {
  return (await all()).filter(isWaiting);
}

export async function anythingWaits() {
  return (await everybodys()).some(isWaiting);
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
  await drop((await everybodys()).filter((e) => !isWaiting(e) && now - e.at > KEEP_MS));
}

export async function forgetSent() {
  await drop((await everybodys()).filter((entry) => !isWaiting(entry)));
}

export async function drop(entries) {
  for (const entry of entries) await inStore("readwrite", (store) => store.delete(entry.seq));
}
