// Shows the walk as it is, and gives it what is pressed here.
const QUIET_MS = 30000; // the server gives a sign of life every ten seconds
const AGAIN_MS = 2000;
const LINES = 60;

const at = (id) => document.getElementById(id);
const kept = {
  get: (name) => { try { return localStorage.getItem(name); } catch { return null; } },
  set: (name, value) => { try { localStorage.setItem(name, value); } catch { /* for this visit only */ } },
};

let place = null; // the last place shown
let run = ""; // of the server that showed it
const sending = new Set(); // the steps for which a press is on its way
let said = [];
let stream = null;
let lastHeard = 0;
let hasEnded = false;

// ---- showing

function show(next) {
  place = next;
  at("stage").textContent = next.stage;
  at("name").textContent = next.name;
  at("what").textContent = next.now;
  at("now").className = next.now.length < 40 ? "huge" : "large";
  document.body.dataset.mode = next.mode;
  at("around").textContent = next.around;
  at("before").textContent = next.before && `Before: ${next.before}`;
  at("after").textContent = next.after && `After: ${next.after}`;
  at("progress").textContent = next.progress;
  at("bar").max = next.total;
  at("bar").value = next.confirmed;
  at("count-asked").textContent = next.count_asked;
  const pause = at("pause");
  pause.dataset.command = next.is_paused ? "resume" : "pause";
  pause.textContent = next.is_paused ? "Resume" : "Pause";
  appear(at("count"), next.count_asked !== "");
  appear(at("accept"), next.is_held);
  appear(at("question"), next.is_asked);
  unrepeated();
}

// Hiding what has the focus would drop it at the top of the page; it goes to the nearest key.
function appear(element, isShown) {
  const hadFocus = element.contains(document.activeElement);
  element.hidden = !isShown;
  if (!isShown && hadFocus) at("done").focus();
}

function log(line) {
  const row = document.createElement("p");
  row.textContent = line.text;
  at("log").append(row);
  while (at("log").childElementCount > LINES) at("log").firstElementChild.remove();
}

function tell(text) {
  const status = at("status");
  if (!at("speaks").checked) text = "";
  // The same words again are news again: a screen reader tells only what changes.
  status.textContent = status.textContent === text && text ? `${text}\u00a0` : text;
}

function alarm(text) {
  if (at("trouble").textContent !== text) at("trouble").textContent = text;
  unrepeated();
}

// What stands in the heading anyway is not shown twice, only told.
function unrepeated() {
  const trouble = at("trouble");
  trouble.classList.toggle("heard-only", trouble.textContent === at("what").textContent);
}

// Lines come one by one just before the place they lead to; together they are one announcement.
let telling = 0;
function gather(line) {
  log(line);
  said.push(line);
  clearTimeout(telling);
  telling = setTimeout(() => {
    const text = said.map((each) => each.text).join(" ");
    const isTrouble = said.some((each) => each.tune === "trouble" || each.tune === "refuse");
    said = [];
    alarm(isTrouble ? text : "");
    if (!isTrouble) tell(text);
  }, 60);
}

// ---- hearing from the loom

function listen() {
  if (stream) stream.close();
  lastHeard = Date.now();
  stream = new EventSource("/events");
  const on = (kind, act) => stream.addEventListener(kind, (event) => {
    lastHeard = Date.now();
    if (event.lastEventId) run = event.lastEventId.split(".")[0];
    act(JSON.parse(event.data));
  });
  on("whole", (whole) => {
    at("log").replaceChildren();
    whole.lines.forEach(log);
    const isElsewhere = place && (place.name !== whole.place.name || place.now !== whole.place.now);
    if (whole.place.stage) show(whole.place);
    if (isElsewhere) tell(`${place.name} ${place.now}`.trim());
    whole.ended ? end(whole.ended) : linked();
  });
  on("line", gather);
  on("place", show);
  on("end", (ended) => end(ended.text));
  on("beat", () => linked());
  stream.onopen = () => { if (!hasEnded) linked(); };
  stream.onerror = lost;
}

function linked() {
  hasEnded = false;
  at("link").textContent = "The board is in step with the loom.";
  if (at("trouble").dataset.kind === "link") {
    delete at("trouble").dataset.kind;
    alarm("");
  }
}

function end(text) {
  hasEnded = true;
  at("link").textContent = text;
  at("trouble").dataset.kind = "link";
  alarm(text);
}

function lost() {
  if (!hasEnded) {
    at("link").textContent = "The loom is not heard from. Trying again.";
    at("trouble").dataset.kind = "link";
    alarm("The loom is not heard from. Trying again.");
  }
  // A browser gives up on a server that refused it; this does not.
  if (stream && stream.readyState === EventSource.CLOSED) setTimeout(listen, AGAIN_MS);
}

setInterval(() => {
  if (Date.now() - lastHeard > QUIET_MS) {
    lost();
    listen();
  }
}, 5000);

// ---- giving commands

function identity() {
  // crypto.randomUUID is for secure pages alone, and a studio network has none.
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function give(text) {
  if (!place) {
    alarm("The board is not in step with the loom yet. Press again in a moment.");
    return;
  }
  // A second press on the way is a slip; one for the step that has come meanwhile is not.
  const step = `${run}.${place.step}`;
  if (sending.has(step)) return;
  sending.add(step);
  const body = JSON.stringify({ id: identity(), run, step: place.step, text });
  try {
    await send(body);
  } finally {
    sending.delete(step);
  }
}

// A command that got no answer is sent once more with the same identity: it is taken once at most.
async function send(body) {
  for (let tries = 0; tries < 2; tries += 1) {
    try {
      const answer = await fetch("/command", { method: "POST", headers: { "Content-Type": "application/json" }, body });
      const line = (await answer.text()).trim();
      if (answer.status === 409) alarm("The walk had gone on already, so that press was not taken. Look at the step now.");
      else if (answer.status === 410) end("The walk has ended here; your place is kept.");
      else if (answer.status === 401) location.assign("/pair");
      else if (!answer.ok) alarm(line);
      return;
    } catch {
      await new Promise((resume) => { setTimeout(resume, 400); });
    }
  }
  at("trouble").dataset.kind = "link";
  alarm("That press may not have reached the loom. Look at the step before you press again.");
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-command]");
  if (button) give(button.dataset.command);
});

// A key that is held down presses its button again and again; only the first time counts.
document.addEventListener("keydown", (event) => {
  if (event.repeat && event.target.closest("button")) event.preventDefault();
});

at("count").addEventListener("submit", (event) => {
  event.preventDefault();
  const number = at("number").value.trim();
  at("number").value = "";
  if (/^[0-9]+$/.test(number)) give(`count ${number}`);
  else alarm("Type the count in digits, such as 24.");
});

// ---- how it looks and speaks here

at("look").value = kept.get("look") || "";
at("look").addEventListener("change", () => {
  kept.set("look", at("look").value);
  document.documentElement.dataset.look = at("look").value;
});
at("speaks").checked = kept.get("speaks") !== "no";
at("speaks").addEventListener("change", () => {
  kept.set("speaks", at("speaks").checked ? "yes" : "no");
  tell("");
});

listen();
