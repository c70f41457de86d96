// Says in time that the session ends because nobody does anything, and lets somebody stay. The page may
// be one of several: how long is left is asked for again before anything is said.
const WARN_S = 300;
const notice = document.getElementById("staying");
const out = document.getElementById("signed-out");
let timer = 0;

async function ask(method = "GET") {
  clearTimeout(timer);
  let left = 0;
  try {
    const answer = await fetch("/desk/session", { method, headers: { Accept: "application/json" } });
    if (answer.status !== 401 && !answer.ok) throw new Error(answer.status);
    if (answer.ok) left = (await answer.json()).seconds;
  } catch {
    timer = setTimeout(ask, 30_000); // no word from the server: the stale line says that
    return;
  }
  show(left);
  // Another page may have kept the session alive, so the last minute is looked at more often.
  if (left > 0) timer = setTimeout(ask, 1000 * (left > WARN_S ? left - WARN_S : Math.min(left, 20)));
}

function show(left) {
  out.hidden = left > 0;
  if (left > 0 && left <= WARN_S) {
    const at = new Date(Date.now() + left * 1000);
    document.getElementById("staying-at").textContent = at.toLocaleTimeString([], { hour: "numeric", minute: "2-digit" });
  }
  notice.hidden = !(left > 0 && left <= WARN_S);
}

document.getElementById("stay").addEventListener("click", () => {
  ask("POST");
  notice.hidden = true;
});
// A page that comes back to the front may have slept through its timer.
document.addEventListener("visibilitychange", () => { if (!document.hidden) ask(); });
ask();
